"""Is there enough: what to start when, who sprays when, what will be short and the ways out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil
from typing import ClassVar

from bot import progress
from bot.craft.supply import Spray
from bot.craft.units import Quantity
from bot.facts import Fact, Option, Question, Request, Term
from bot.provision import Provision, provisions, shortages_of
from bot.records.book import Answer, Book
from bot.records.changes import Change, Recorded, Told
from bot.records.permission import refused
from bot.records.together import circle_of, on_circle
from bot.requests.supply import ways
from bot.supply_facts import OneBarrel, litres, short_said, spray_said, start_said, ways_out

KIND = "supply"
MOST_STARTS = 3
MOST_SPRAYS = 5
MOST_SHORT = 3
SET_DAYS = 7
"""Days are set no further ahead: what comes after is planned anew. Ours, no source."""


@dataclass(frozen=True, slots=True)
class Enough(Fact):
    """There is enough for every round until a day, if the barrels are started as planned."""

    words: ClassVar[str] = "supply.enough"
    recipe: Term
    wanted: Quantity
    hand: Quantity
    until: date


@dataclass(frozen=True, slots=True)
class NotEnough(Fact):
    """There is not enough for every round, even if barrels are started as planned."""

    words: ClassVar[str] = "supply.not-enough"
    recipe: Term
    wanted: Quantity
    hand: Quantity
    until: date


@dataclass(frozen=True, slots=True)
class EnoughOn(Fact):
    """The rounds up to a day have enough."""

    words: ClassVar[str] = "supply.enough-on"
    on: date
    wanted: Quantity


@dataclass(frozen=True, slots=True)
class NoRoundsUntil(Fact):
    """No round falls on a day or before it."""

    words: ClassVar[str] = "supply.no-rounds-until"
    on: date


@dataclass(frozen=True, slots=True)
class NothingWanted(Fact):
    """No rounds are planned: nothing to reckon with; how to plan some."""

    words: ClassVar[str] = "rounds.no-plan"


@dataclass(frozen=True, slots=True)
class NothingToStart(Fact):
    """No barrel has to be started for the rounds that are planned."""

    words: ClassVar[str] = "supply.nothing-to-start"


@dataclass(frozen=True, slots=True)
class MoreShort(Fact):
    """How many more rounds are short."""

    words: ClassVar[str] = "supply.more-short"
    plural: ClassVar[str] = "rounds"
    rounds: int


@dataclass(frozen=True, slots=True)
class SetDays(Fact):
    """Asks whether the days and sprayers of the plan are set, and everybody told."""

    words: ClassVar[str] = "supply.set-days"


@dataclass(frozen=True, slots=True)
class DaysSet(Fact):
    """The days and sprayers of the plan are set; everybody concerned is told."""

    words: ClassVar[str] = "supply.days-set"


@dataclass(frozen=True, slots=True)
class DaysStay(Fact):
    """The rounds keep their own days."""

    words: ClassVar[str] = "supply.days-stay"


@dataclass(frozen=True, slots=True)
class NothingDrawn(Fact):
    """Nobody has taken culture from the barrels that are in use."""

    words: ClassVar[str] = "supply.nothing-drawn"


def answer(request: Request, book: Book) -> Answer:
    """Enough or short, the plan, who has sprayed, who drew; or a way out that was chosen."""
    if "agreed" in request.slots:
        return refused(book, "choose") or _agreed(request, book)
    if {"way", "plan_id"} <= set(request.slots):
        return refused(book, "choose") or ways.chosen(request, book)
    action = request.term("action")
    if action == "sprayed":
        return _sprayed(book)
    if action == "drawn":
        return _drawn(book)
    found = provisions(book)
    if not found:
        return Answer((NothingWanted(),))
    if "on" in request.slots:
        return _by_day(request.slots["on"], found, book)
    if action == "plan":
        return _plan(found, book)
    return _enough(found, book)


def _enough(found: Sequence[Provision], book: Book) -> Answer:
    said: list[Fact] = []
    for each in found:
        lacks = {short.lacks for short in each.plan.shortages}
        kind = NotEnough if "culture" in lacks else Enough
        wanted, hand = _whole(each.wanted_ml), litres(each.in_hand_ml)
        said.append(kind(Term("recipe", each.recipe.kind), wanted, hand, each.until))
        said += [start_said(start, each) for start in each.plan.starts[:1]]
    return _with_shortages(said, found, book)


def _plan(found: Sequence[Provision], book: Book) -> Answer:
    circle = circle_of(book)
    said: list[Fact] = []
    for each in found:
        said += [start_said(start, each) for start in each.plan.starts[:MOST_STARTS]]
        if not each.plan.starts:
            said.append(NothingToStart())
        soon = sorted(each.plan.sprays, key=lambda spray: spray.on)[:MOST_SPRAYS]
        said += [spray_said(spray, each, book, circle) for spray in soon]
        if each.plan.one_barrel:
            said.append(OneBarrel())
    answer = _with_shortages(said, found, book)
    question = answer.question
    if question is None and refused(book, "choose") is None and _changed(found, book):
        options = (
            Option(value=True, label=Term("answer", "yes")),
            Option(value=False, label=Term("answer", "no")),
        )
        question = Question(
            SetDays(), Request(KIND), "agreed", options, valid_hours=12, listed=False
        )
    planned = () if circle.planned else (on_circle(book, "planned", {}),)
    return Answer(answer.facts, planned, question)


def _changed(found: Sequence[Provision], book: Book) -> list[tuple[Spray, Provision]]:
    """The sprays of the next days that are not what their members have in mind."""
    until = book.today + timedelta(days=SET_DAYS)
    return [
        (spray, each)
        for each in found
        for spray in each.plan.sprays
        if spray.on <= until and _differs(spray, each, book)
    ]


def _differs(spray: Spray, found: Provision, book: Book) -> bool:
    plan, day = found.rounds[spray.round_id]
    owner = book.owner_of(plan.id)
    others = {spray.hand_id, spray.sprayer_id} - {owner, ""}
    return spray.on != day or bool(others)


def _agreed(request: Request, book: Book) -> Answer:
    """The days of the plan are set, and everybody whose day or sprayer it is hears of them."""
    if not request.slots["agreed"]:
        return Answer((DaysStay(),))
    circle = circle_of(book)
    changes: list[Change] = []
    words: dict[str, list[Fact]] = {}
    for spray, found in _changed(provisions(book), book):
        plan, day = found.rounds[spray.round_id]
        parts = [each for each in found.plan.sprays if each.round_id == spray.round_id]
        if len(parts) == 1 and spray.on != day and day == plan.next_on:
            data = {"to_on": spray.on.isoformat()}
            changes.append(Recorded(plan.id, "late", book.said_at, data))
        fact = spray_said(spray, found, book, circle)
        sprayer = circle.sprayers.get(spray.sprayer_id)
        for who in {book.owner_of(plan.id), spray.hand_id, sprayer.owner_id if sprayer else ""}:
            if who and who != book.member.id:
                words.setdefault(who, []).append(fact)
    changes += [Told(tuple(words[who]), member_id=who) for who in sorted(words)]
    return Answer((DaysSet(),), tuple(changes))


def _with_shortages(said: list[Fact], found: Sequence[Provision], book: Book) -> Answer:
    """The shortages, soonest first; the keeper is asked about the first one."""
    short = shortages_of(found)
    said += [short_said(each, one, book) for each, one in short[:MOST_SHORT]]
    if len(short) > MOST_SHORT:
        said.append(MoreShort(len(short) - MOST_SHORT))
    if short and refused(book, "choose") is None:
        return Answer(tuple(said), question=ways_out(*short[0]))
    return Answer(tuple(said))


def _by_day(on: date, found: Sequence[Provision], book: Book) -> Answer:
    wanted_ml = 0
    for one in found:
        for plan, day in one.rounds.values():
            wanted_ml += plan.dose_on(day).culture_ml if day <= on else 0
    short = [(each, one) for each, one in shortages_of(found) if each.on <= on]
    if not wanted_ml:
        return Answer((NoRoundsUntil(on),))
    if not short:
        return Answer((EnoughOn(on, _whole(wanted_ml)),))
    said = tuple(short_said(each, one, book) for each, one in short[:MOST_SHORT])
    if refused(book, "choose") is not None:
        return Answer(said)
    return Answer(said, question=ways_out(*short[0]))


def _whole(ml: int) -> Quantity:
    """Whole litres, upward: nobody reckons a season in millilitres."""
    return litres(ceil(ml / 1000) * 1000)


# --- who has done what ------------------------------------------------------------------------


def _sprayed(book: Book) -> Answer:
    return Answer(progress.rounds_of(book) or (NothingWanted(),))


def _drawn(book: Book) -> Answer:
    return Answer(progress.drawn(book) or (NothingDrawn(),))
