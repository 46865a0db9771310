"""The keeper's one daily list: turns not told of, late rounds, what to start, what is short."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any, ClassVar

from bot.clock import local_day
from bot.craft import batches
from bot.craft.circle import Circle
from bot.facts import Due, Fact, Question, Rule, Tending
from bot.progress import late
from bot.provision import provisions, shortages_of
from bot.records.book import Answer, Book
from bot.records.together import circle_of, rota_of
from bot.supply_facts import name_of, short_said, spray_said, start_said, ways_out

KIND = "keeper_list"
ORDER = 60
USEFUL_HOURS = 12
START_DAYS = 2
"""A start is announced so many days before, for what has to be bought. Ours, no source."""
MOST_LATE = 3
SHORT_DAYS = 7
"""What is short later than that is told on asking: till then it may have changed. Ours."""


@dataclass(frozen=True, slots=True)
class NotTold(Fact):
    """Yesterday's stirring was not told of; whose turn it was."""

    words: ClassVar[str] = "keeper.not-told"
    who: Any


@dataclass(frozen=True, slots=True)
class NotStirred(Fact):
    """Yesterday nobody stirred; who had the turn."""

    words: ClassVar[str] = "keeper.not-stirred"
    who: Any


def wanted(subject: object, tending: Tending) -> tuple[Rule, ...]:
    """Each day to each keeper, at their hour."""
    if not isinstance(subject, Circle):
        return ()
    people = tending.outlook["people"]
    return tuple(
        Rule(
            KIND,
            subject.id,
            "daily",
            member_id=who,
            zone=people[who].zone,
            at=people[who].hour,
            first_on=local_day(tending.now, people[who].zone),
            every_days=1,
        )
        for who in tending.outlook["keepers"]
    )


def facts(due: Sequence[Due], book: Book) -> Answer:
    """What a keeper has to know today; nothing where there is nothing."""
    del due
    said: list[Fact] = []
    if len(book.members()) > 1:
        said += [*_turns(book), *late(book)[:MOST_LATE]]
    question: Question | None = None
    circle = circle_of(book)
    if circle.planned:
        found = provisions(book)
        for each in found:
            said += [
                start_said(start, each)
                for start in each.plan.starts
                if start.on <= book.today + timedelta(days=START_DAYS)
            ]
            said += [
                spray_said(spray, each, book, circle)
                for spray in each.plan.sprays
                if spray.on == book.today and spray.hand_id != book.member.id
            ]
        short = [
            (each, one)
            for each, one in shortages_of(found)
            if each.on <= book.today + timedelta(days=SHORT_DAYS)
        ]
        if short:
            said.append(short_said(*short[0], book))
            question = ways_out(*short[0])
    return Answer(tuple(said), question=question)


def _turns(book: Book) -> tuple[Fact, ...]:
    """Yesterday's turn, where something fermented and nobody told of it or it was not done."""
    yesterday = book.today - timedelta(days=1)
    fermented = any(
        each.state == "fermenting" and each.started_on is not None and each.started_on < yesterday
        for each in book.open(batches.SUBJECT, batches.fold)
    )
    turn = next((each for each in rota_of(book).past if each.on == yesterday), None)
    if turn is None or not fermented or turn.state == "done" or not turn.holder:
        return ()
    who = name_of(turn.holder, book)
    return (NotStirred(who) if turn.state == "missed" else NotTold(who),)
