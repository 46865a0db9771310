"""A season of rest comes to its end: the rounds go on, and a barrel is to be started."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import ClassVar

from bot.craft.circle import Circle
from bot.facts import Due, Fact, Rule, Tending
from bot.records.book import Answer, Book
from bot.records.together import circle_of

KIND = "season"
ORDER = 55
USEFUL_HOURS = 72
DAYS_BEFORE = 8
"""A barrel started then is ready when the rounds go on: a cool week and a day."""


@dataclass(frozen=True, slots=True)
class RestEnds(Fact):
    """The rest ends on a day: start a barrel now, from a starter in its time or a fresh one."""

    words: ClassVar[str] = "reminder.season"
    last: date


def wanted(subject: object, tending: Tending) -> tuple[Rule, ...]:
    """Once before the end of each rest, to every keeper."""
    if not isinstance(subject, Circle):
        return ()
    people = tending.outlook["people"]
    return tuple(
        Rule(
            KIND,
            subject.id,
            rest.last_on.isoformat(),
            member_id=who,
            zone=people[who].zone,
            at=people[who].hour,
            first_on=max(rest.first_on, rest.last_on - timedelta(days=DAYS_BEFORE)),
            stale="always",
        )
        for rest in subject.rests
        for who in tending.outlook["keepers"]
    )


def facts(due: Sequence[Due], book: Book) -> Answer:
    """One line, if the rest still stands."""
    ends = {rest.last_on.isoformat(): rest.last_on for rest in circle_of(book).rests}
    last = [ends[each.rule.key] for each in due if each.rule.key in ends]
    return Answer(tuple(RestEnds(each) for each in sorted(set(last))))
