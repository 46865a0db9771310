"""The one reader of time, and the arithmetic of wall time in a zone."""

from __future__ import annotations

import functools
import time as time_module
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo


def system_now() -> datetime:
    """This machine's moment, in UTC. The only place that asks."""
    return datetime.now(UTC)  # noqa: TID251 - the one reader of time


def elapsed_s() -> float:
    """Seconds on a clock that nobody sets: for how long something took, never for when."""
    return time_module.monotonic()


@dataclass(slots=True)
class SharedClock:
    """The moment of a clock that several machines share, as a database's.

    Between two looks it goes on by this machine's own steady clock, so that a jump of this
    machine's wall clock changes nothing. Nothing was seen yet: this machine's moment.
    """

    seen_at: datetime | None = None
    seen_s: float = 0.0

    def look(self, moment: datetime) -> None:
        """Take the shared moment, just read."""
        self.seen_at, self.seen_s = moment, elapsed_s()

    def now(self) -> datetime:
        """The moment, UTC."""
        if self.seen_at is None:
            return system_now()
        return self.seen_at + timedelta(seconds=elapsed_s() - self.seen_s)


@functools.lru_cache(4096)
def instant(day: date, wall: time, zone: str) -> datetime:
    """The one moment (UTC) at which a wall clock in `zone` shows `wall` on `day`.

    A time in a gap shifts forward by the gap (back if that would leave the day); in an overlap
    the first of the two counts. So each local day has exactly one such moment.

    >>> instant(date(2026, 3, 29), time(2, 30), "Europe/Paris").isoformat()
    '2026-03-29T01:30:00+00:00'
    >>> instant(date(2026, 10, 25), time(2, 30, fold=1), "Europe/Paris").isoformat()
    '2026-10-25T00:30:00+00:00'
    """
    here = ZoneInfo(zone)
    local = datetime.combine(day, wall, here).replace(fold=0)
    moment = local.astimezone(UTC)
    back = moment.astimezone(here)
    if back.replace(tzinfo=None) == local.replace(tzinfo=None):
        return moment
    # In a gap, fold=0 reads the wall time with the offset before it: already shifted forward.
    if back.date() == day:
        return moment
    before = local.replace(fold=1).astimezone(UTC)
    return before if before.astimezone(here).date() == day else moment


def local_day(moment: datetime, zone: str) -> date:
    """The calendar day in `zone` at a moment."""
    return moment.astimezone(ZoneInfo(zone)).date()


def next_local_hour(moment: datetime, zone: str) -> datetime:
    """The moment at which the next full local hour begins, strictly after `moment`."""
    local = moment.astimezone(ZoneInfo(zone))
    into = timedelta(minutes=local.minute, seconds=local.second, microseconds=local.microsecond)
    return moment - into + timedelta(hours=1)
