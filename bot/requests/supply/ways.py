"""A way out of a shortage that was chosen: spray less, move a round, borrow, look for help."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, ClassVar

from bot.craft.entries import Entry
from bot.craft.round_plan import Rounds
from bot.craft.units import Quantity
from bot.facts import Fact, Request, Term
from bot.records.book import Answer, Book
from bot.records.changes import Change, Recorded, Told
from bot.records.meant import plan_after
from bot.records.together import everyones, on_circle
from bot.supply_facts import litres


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


def chosen(request: Request, book: Book) -> Answer:
    """The way out that was chosen is recorded, and told to whose rounds these are."""
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
