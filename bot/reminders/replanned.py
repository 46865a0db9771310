"""A batch spoilt or a round moved: the supply is planned anew, and keepers hear what that means."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import ClassVar

from bot.craft.circle import Circle
from bot.facts import Due, Fact, Rule, Tending
from bot.provision import provisions, shortages_of
from bot.records.book import Answer, Book
from bot.records.together import circle_of
from bot.supply_facts import short_said, start_said, ways_out

KIND = "replanned"
ORDER = 58
USEFUL_HOURS = 24
CEILING = "alert"
AFTER = timedelta(minutes=5)
"""So that two messages of the same minute make one plan."""
MOST_STARTS = 2


@dataclass(frozen=True, slots=True)
class AnewSpoilt(Fact):
    """A barrel is spoilt: the supply was planned anew."""

    words: ClassVar[str] = "keeper.anew-spoilt"
    barrel: str


@dataclass(frozen=True, slots=True)
class AnewMoved(Fact):
    """A round moved: the supply was planned anew."""

    words: ClassVar[str] = "keeper.anew-moved"
    crop: str


@dataclass(frozen=True, slots=True)
class StillEnough(Fact):
    """There is still enough for every round, if the barrels are started as said."""

    words: ClassVar[str] = "keeper.still-enough"


def wanted(subject: object, tending: Tending) -> tuple[Rule, ...]:
    """Minutes after the last thing that shook the plan, to each keeper."""
    if not isinstance(subject, Circle) or subject.shaken is None or not subject.planned:
        return ()
    at = subject.shaken.at
    return tuple(
        Rule(
            KIND,
            subject.id,
            at.isoformat(),
            member_id=who,
            zone=tending.outlook["people"][who].zone,
            instant=at + AFTER,
        )
        for who in tending.outlook["keepers"]
    )


def facts(due: Sequence[Due], book: Book) -> Answer:
    """What is short now, with the ways out; after a spoilt batch also what to start in its stead.

    A round that moved without any harm is not worth a message.
    """
    shaken = circle_of(book).shaken
    found = provisions(book)
    if not due or shaken is None or not found:
        return Answer()
    short = shortages_of(found)
    spoilt = shaken.why == "spoilt"
    if not short and not spoilt:
        return Answer()
    said: list[Fact] = [AnewSpoilt(shaken.code) if spoilt else AnewMoved(shaken.code)]
    said += [start_said(each, one) for one in found for each in one.plan.starts[:MOST_STARTS]]
    if not short:
        return Answer((*said, StillEnough()))
    return Answer((*said, short_said(*short[0], book)), question=ways_out(*short[0]))
