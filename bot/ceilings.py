"""How many unasked messages a person gets at most, and when the next may go.

The rule, in words:

- *Routine* messages (stir, look, keep back, use by: whatever a reminder does not declare an alert)
  come at most once a local day to whoever tends a barrel, and at most three times in seven local
  days to everybody else. What is over waits, with its own day, for the next day that is free, and
  goes into that day's one message.
- *Alerts* are rounds with their doses, and notices to a keeper. They never count as routine: at
  most six go in a local day and 28 in seven, the sixth says that more may wait and how to see them,
  and what is over waits for the member's hour on the next morning. Rounds are never dropped.
- Notices that had to wait go three a day, so that they leave room for rounds. What would wait for
  more than a week is not written, and counted: so many are a fault, or no news any more.
- Routine words ride along in an alert of the same hour: that is one message, an alert.
- Answers are asked for and have no ceiling.
- Whoever has no phone has reminders, and a ceiling, of their own: one on whose phone they come
  loses none of theirs. Notices count for the phone.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from sqlalchemy import Connection

from bot.clock import instant, local_day
from bot.facts import Fact
from bot.records import journal
from bot.records.people import Member
from bot.records.unasked import Unasked, unasked

ROUTINE, ALERT = "routine", "alert"
ROUTINE_A_DAY = 1
ROUTINE_A_WEEK = 3
ALERTS_A_DAY = 6
ALERTS_A_WEEK = 28
LATE_NOTICES_A_DAY = 3
LATE_NOTICE_DAYS = 7
"""A festival of plots rarely has more rounds in one day. Ours, no source."""


@dataclass(frozen=True, slots=True)
class MoreMayWait(Fact):
    """This was the last unasked message of today; what else falls due waits until tomorrow."""

    words = "exchange.more-may-wait"


@dataclass(frozen=True, slots=True)
class Room:
    """Whether one more may go now; where not, from when it may. `last`: it is the day's last."""

    free_at: datetime | None = None
    last: bool = False


def gone(tx: Connection, holder_ids: Collection[str], now: datetime) -> dict[str, list[Unasked]]:
    """What went unasked to these members' phones, by person, as far back as a ceiling looks."""
    return unasked(tx, holder_ids, now - timedelta(days=8))


def room(
    tx: Connection, member: Member, ceiling: str, sent: Sequence[Unasked], now: datetime
) -> Room:
    """Whether one more unasked message under a ceiling may go to a member now.

    `sent` is what `gone` found for the member.
    """
    today = local_day(now, member.zone)

    def since(day: date) -> int:
        midnight = instant(day, time(0), member.zone)
        return sum(midnight < _moment(each) <= now for each in sent if each.ceiling == ceiling)

    if ceiling == ALERT:
        alerts = since(today)
        if alerts >= ALERTS_A_DAY or since(today - timedelta(days=6)) >= ALERTS_A_WEEK:
            return Room(_tomorrow(member, now))
        return Room(last=alerts == ALERTS_A_DAY - 1)
    if since(today) >= ROUTINE_A_DAY:
        return Room(_tomorrow(member, now))
    is_full = since(today - timedelta(days=6)) >= ROUTINE_A_WEEK
    if is_full and not journal.tends(tx, member.id, "batch"):
        return Room(_tomorrow(member, now))
    return Room()


def notice_room(
    tx: Connection, member: Member, sent: Sequence[Unasked], now: datetime
) -> Room | None:
    """When one more notice may go to a member; None: so many wait that it is not to be written."""
    here = room(tx, member, ALERT, sent, now)
    if here.free_at is None:
        return here
    waiting = [each.goes_at for each in sent if each.kind == "notice" and each.goes_at > now]
    for days in range(LATE_NOTICE_DAYS):
        free_at = instant(
            local_day(here.free_at, member.zone) + timedelta(days=days), member.hour, member.zone
        )
        if sum(each == free_at for each in waiting) < LATE_NOTICES_A_DAY:
            return Room(free_at)
    return None


def _moment(one: Unasked) -> datetime:
    """When it counts: routine words when they were written, alerts when they go."""
    return one.created_at if one.ceiling == ROUTINE else one.goes_at


def _tomorrow(member: Member, now: datetime) -> datetime:
    return instant(local_day(now, member.zone) + timedelta(days=1), member.hour, member.zone)
