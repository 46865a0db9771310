"""The one reader of time, and the arithmetic of wall time in a zone."""

from __future__ import annotations

import time as time_module
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo


def system_now() -> datetime:
    """This machine's moment, in UTC. The only place that asks."""
    return datetime.now(UTC)  # noqa: TID251 - the one reader of time


def elapsed_s() -> float:
    """Seconds on a clock that nobody sets: for how long something took, never for when."""
    return time_module.monotonic()


def instant(day: date, wall: time, zone: str) -> datetime:
    """The one moment (UTC) at which a wall clock in `zone` shows `wall` on `day`.

    A time in a gap shifts forward by the gap (back if that would leave the day); in an overlap
    the first of the two counts. So each local day has exactly one such moment.

    >>> instant(date(2026, 3, 29), time(2, 30), "Europe/Paris").isoformat()
    '2026-03-29T01:30:00+00:00'
    """
    here = ZoneInfo(zone)
    local = datetime.combine(day, wall, here)
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
