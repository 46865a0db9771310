"""Is there enough: what to start when, who sprays when, what will be short and the ways out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil
from typing import Any, ClassVar

from bot import progress
from bot.craft.entries import Entry
from bot.craft.round_plan import Rounds
from bot.craft.supply import Spray
from bot.craft.units import Quantity
from bot.facts import Fact, Option, Question, Request, Term
from bot.provision import Provision, provisions, shortages_of
from bot.records.book import Answer, Book
from bot.records.changes import Change, Recorded, Told
from bot.records.meant import plan_after
from bot.records.permission import refused
from bot.records.together import circle_of, everyones, on_circle
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
class SetLess(Fact):
    """It is settled: the rounds of those days spray so much of their mix."""

    words: ClassVar[str] = "supply.set-less"
    percent: int
    crops: tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class GrowersTold(Fact):
    """Whose rounds these are is told."""

    words: ClassVar[str] = "supply.growers-told"


@dataclass(frozen=True, slots=True)
class SetMove(Fact):
    """It is settled: a crop's round moves to a day."""

    words: ClassVar[str] = "supply.set-move"
    crop: Any
    on: date


@dataclass(frozen=True, slots=True)
class SetBorrow(Fact):
    """It is settled: so much culture comes from elsewhere by a day."""

    words: ClassVar[str] = "supply.set-borrow"
    amount: Quantity
    on: date


@dataclass(frozen=True, slots=True)
class SetFind(Fact):
    """It is settled that help is looked for; how to tell of hands, a sprayer or water."""

    words: ClassVar[str] = "supply.set-find"


@dataclass(frozen=True, slots=True)
class YoursIsLess(Fact):
    """To a member: culture is short, and their round of a day sprays less."""

    words: ClassVar[str] = "supply.yours-is-less"
    crop: Any
    on: date
    percent: int
    mix: Quantity


@dataclass(frozen=True, slots=True)
class YoursMoves(Fact):
    """To a member: there is not enough before, and their round moves to a day."""

    words: ClassVar[str] = "supply.yours-moves"
    crop: Any
    on: date


@dataclass(frozen=True, slots=True)
class RoundIsGone(Fact):
    """The round that was short is no longer planned."""

    words: ClassVar[str] = "supply.round-is-gone"


@dataclass(frozen=True, slots=True)
class NothingDrawn(Fact):
    """Nobody has taken culture from the barrels that are in use."""

    words: ClassVar[str] = "supply.nothing-drawn"


def answer(request: Request, book: Book) -> Answer:
    """Enough or short, the plan, who has sprayed, who drew; or a way out that was chosen."""
    if "agreed" in request.slots:
        return refused(book, "choose") or _agreed(request, book)
    if {"way", "plan_id"} <= set(request.slots):
        return refused(book, "choose") or _chosen(request, book)
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


# --- a way out --------------------------------------------------------------------------------


def _chosen(request: Request, book: Book) -> Answer:
    slots = request.slots
    plan = next((each for each in everyones(book) if each.id == slots.get("plan_id")), None)
    if plan is None or slots["on"] not in plan.dates:
        return Answer((RoundIsGone(),))
    return _WAYS[request.term("way")](slots, plan, book)


def _less(slots: Mapping[str, Any], plan: Rounds, book: Book) -> Answer:
    """Every round of that kind whose days overlap gives way alike."""
    window = next(each for each in plan.needs() if each.on == slots["on"])
    percent = int(slots["percent"])
    changes: list[Change] = []
    crops: list[Any] = []
    for each in everyones(book):
        if each.dose.recipe != plan.dose.recipe:
            continue
        for need in each.needs():
            if need.earliest_on > window.latest_on or need.latest_on < window.earliest_on:
                continue
            data = {"number": each.number(need.on), "percent": percent}
            changes.append(Recorded(each.id, "less", book.said_at, data))
            after = plan_after(each, Entry("less", book.said_at, data), book)
            crop = Term("crop", each.crop)
            crops.append(crop)
            mix = litres(after.ahead(book.today).dose_on(need.on).mix_ml)
            changes += _to(book, each, YoursIsLess(crop, need.on, percent, mix))
    settled = SetLess(percent, tuple(dict.fromkeys(crops)))
    return Answer((settled, *_told(changes)), tuple(changes))


def _move(slots: Mapping[str, Any], plan: Rounds, book: Book) -> Answer:
    to: date = slots["to"]
    data = {"to_on": to.isoformat()}
    after = plan_after(plan, Entry("late", book.said_at, data), book)
    on = after.next_on or to
    crop = Term("crop", plan.crop)
    moved = Recorded(plan.id, "late", book.said_at, data)
    told = _to(book, plan, YoursMoves(crop, on))
    return Answer((SetMove(crop, on), *_told(told)), (moved, *told))


def _borrow(slots: Mapping[str, Any], plan: Rounds, book: Book) -> Answer:
    on = max(book.today, slots["on"] - timedelta(days=1))
    data = {"on": on.isoformat(), "ml": int(slots["ml"]), "recipe": str(slots["recipe_kind"])}
    del plan
    return Answer((SetBorrow(litres(int(slots["ml"])), on),), (on_circle(book, "borrowed", data),))


def _find(_slots: Mapping[str, Any], _plan: Rounds, _book: Book) -> Answer:
    return Answer((SetFind(),))


_WAYS = {"less": _less, "move": _move, "borrow": _borrow, "find": _find}


def _told(changes: Sequence[Change]) -> tuple[Fact, ...]:
    return (GrowersTold(),) if any(isinstance(each, Told) for each in changes) else ()


def _to(book: Book, plan: Rounds, fact: Fact) -> list[Change]:
    """A word to whose round it is, unless they settled it themselves."""
    owner = book.owner_of(plan.id)
    return [] if owner == book.member.id else [Told((fact,), member_id=owner)]


# --- who has done what ------------------------------------------------------------------------


def _sprayed(book: Book) -> Answer:
    return Answer(progress.rounds_of(book) or (NothingWanted(),))


def _drawn(book: Book) -> Answer:
    return Answer(progress.drawn(book) or (NothingDrawn(),))
