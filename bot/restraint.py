"""When a message is not answered: a machine on the other side, too many from one number, a flood.

The rule, in words:

- A machine answers each message with the same words within a minute. Its third such answer in a
  row is left alone; it is heard again when it says something else. Words that ask or tell
  something are a machine's only when a whole sentence comes the sixth time, figures and all.
- A number is answered so often an hour, and four times as often a day, as its channel says. Then
  it is told once until when answers wait. What is told clearly meanwhile is still recorded.
- A channel takes so many new numbers an hour. More are set aside, for an operator to look at.
- STOP and START are always answered.

What is counted are rows of the outbox and the inbox: nothing is kept beside them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection

from bot.abuse import LOOP_ROUNDS, LOOP_WITHIN, Round, alike, free_at, is_loop
from bot.facts import Fact
from bot.messages import Incoming, Manner
from bot.records import lately, pacing
from bot.records.people import Member

HOUR, DAY = timedelta(hours=1), timedelta(days=1)
DAY_AS_HOURS = 4
"""A number is answered as often in a day as in so many full hours. Ours, no source."""

PERSON_ROUNDS = 6
SHORTEST_MACHINE = 12
"""Characters; shorter words, as MORE, a person may well send over and over. Ours, no source."""

NEWCOMERS = "+new"
"""The name under which a channel's newcomers are paced."""


@dataclass(frozen=True, slots=True)
class TooMany(Fact):
    """Too many messages came from this number: from when they are answered again."""

    words = "exchange.too-many"
    answers_at: datetime


@dataclass(frozen=True, slots=True)
class Held:
    """Whether a message is left unanswered: for a machine's, or until a moment."""

    machine: bool = False
    free_at: datetime | None = None


def held(
    tx: Connection, member: Member, incoming: Incoming, manner: Manner, now: datetime, *, idle: bool
) -> Held:
    """Whether an answer is held back. `idle`: the message asked and told nothing."""
    most = manner.answers_an_hour
    if not most and not idle and len(incoming.text) < SHORTEST_MACHINE:
        return Held()
    gone = lately.lately(tx, member.id, now - DAY, 20 + 2 * DAY_AS_HOURS * most)
    if _is_machine(tx, incoming.text, gone, now, idle=idle):
        return Held(machine=True)
    answered_at = [each.created_at for each in gone if each.exchange_id is not None]
    if not most:
        return Held()
    waits = (
        free_at(answered_at, now, most=most, window=HOUR),
        free_at(answered_at, now, most=DAY_AS_HOURS * most, window=DAY),
    )
    return Held(free_at=max((each for each in waits if each is not None), default=None))


def welcomes(tx: Connection, channel: str, manner: Manner, now: datetime) -> bool:
    """Whether the channel takes one more number that nobody knows."""
    most = manner.newcomers_an_hour
    return not most or pacing.admit(tx, channel, NEWCOMERS, HOUR / most, HOUR, now)


def _is_machine(
    tx: Connection, text: str, gone: Sequence[lately.Gone], now: datetime, *, idle: bool
) -> bool:
    most = LOOP_ROUNDS if idle else PERSON_ROUNDS
    if not idle and len(text) < SHORTEST_MACHINE:
        return False
    answered = [each for each in gone if each.exchange_id is not None][-(most - 1) :]
    if len(answered) < most - 1 or not answered:
        return False
    if not idle and now - answered[0].created_at > most * LOOP_WITHIN:
        return False
    rounds = [*_rounds(tx, answered, gone), _round(text, now, gone)]
    return is_loop(rounds, most=most, like=alike if idle else str.casefold)


def _rounds(
    tx: Connection, answered: Sequence[lately.Gone], gone: Sequence[lately.Gone]
) -> list[Round]:
    """The messages that were answered, in their order."""
    came = lately.answered(tx, [each.exchange_id for each in answered if each.exchange_id])
    return [_round(text, at, gone) for text, at in came]


def _round(text: str, came_at: datetime, gone: Sequence[lately.Gone]) -> Round:
    before = [each.went_at for each in gone if each.went_at < came_at]
    return Round(text, came_at, max(before, default=None))
