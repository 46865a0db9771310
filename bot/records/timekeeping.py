"""The newest moment this database has seen, so that a clock that was set back is noticed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, select, update

from bot.records import pacing, taking_back, tallies
from bot.records.tables import kept, outbox
from bot.records.upserting import upsert

TOLERANCE = timedelta(minutes=2)
"""Clocks of copies differ, and are corrected by so much without harm. Ours, no source."""
PATIENCE = timedelta(hours=1)
"""How long reminders wait for a clock that is behind to be corrected. Ours, no source."""
STEP = timedelta(minutes=1)

_CHANNEL = ""
_NEWEST, _BEHIND = "clock", "clock-behind"
_KNOWN = select(kept.c.name, kept.c.value).where(
    kept.c.channel == _CHANNEL, kept.c.name.in_([_NEWEST, _BEHIND]), kept.c.value != ""
)


@dataclass(frozen=True, slots=True)
class Timekeeping:
    """The newest moment known, and since when (by the wrong clock) the clock has been behind."""

    newest_at: datetime | None
    behind_since: datetime | None


def look(tx: Connection) -> Timekeeping:
    """What is known of the clock."""
    found = {row.name: datetime.fromisoformat(row.value) for row in tx.execute(_KNOWN)}
    return Timekeeping(found.get(_NEWEST), found.get(_BEHIND))


def is_trusted(tx: Connection, now: datetime) -> bool:
    """Whether reminders may go by this moment; writes down what was seen.

    A clock behind the newest moment holds them for an hour at most: until then it is corrected,
    or it is the newest moment that was wrong, and what that did to coming days is set right.
    """
    known = look(tx)
    if known.newest_at is None or now >= known.newest_at - TOLERANCE:
        if known.behind_since is not None:
            _put(tx, _BEHIND, "")
        if known.newest_at is None or now >= known.newest_at + STEP:
            _put(tx, _NEWEST, now.isoformat())
        return True
    if known.behind_since is None or now < known.behind_since:
        _put(tx, _BEHIND, now.isoformat())
        tallies.add(tx, "clock_set_back")
        release(tx, now)
        return False
    if now < known.behind_since + PATIENCE:
        return False
    accept(tx, now, known.behind_since)
    return True


def accept(tx: Connection, now: datetime, since: datetime) -> None:
    """Take this moment as right; days after `since` that a clock ran ahead over come again."""
    _put(tx, _BEHIND, "")
    _put(tx, _NEWEST, now.isoformat())
    taking_back.set_back(tx, since)
    release(tx, now)
    # What it wrote would fill a ceiling of a day that is still to come.
    tx.execute(update(outbox).where(outbox.c.created_at > now).values(created_at=since))


def release(tx: Connection, now: datetime) -> None:
    """What waits for a moment that a clock running ahead wrote goes now instead."""
    tx.execute(
        update(outbox)
        .where(
            outbox.c.status == "waiting", outbox.c.created_at > now, outbox.c.not_before_at > now
        )
        .values(not_before_at=now)
    )
    tx.execute(
        update(outbox)
        .where(outbox.c.status == "sending", outbox.c.leased_until > now + timedelta(hours=1))
        .values(leased_until=now)
    )
    pacing.forget(tx, now)


def _put(tx: Connection, name: str, value: str) -> None:
    upsert(tx, kept, {"channel": _CHANNEL, "name": name}, {"value": value})
