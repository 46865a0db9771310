"""How far the group is: who has sprayed, who is late, who drew how much, and what is left."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any, ClassVar

from bot.craft import batches, rounds
from bot.craft.round_plan import Rounds
from bot.craft.units import Quantity
from bot.facts import Fact, Term
from bot.records.book import Book
from bot.supply_facts import litres, name_of

RECENT_DAYS = 14
"""Rounds done longer ago are not told again. Ours, no source."""


@dataclass(frozen=True, slots=True)
class DidSpray(Fact):
    """Who sprayed a crop on a day."""

    words: ClassVar[str] = "supply.did-spray"
    who: Any
    crop: Any
    on: date


@dataclass(frozen=True, slots=True)
class IsLate(Fact):
    """Whose round of a crop was due on a day and is not told of."""

    words: ClassVar[str] = "supply.is-late"
    who: Any
    crop: Any
    on: date


@dataclass(frozen=True, slots=True)
class ComesNext(Fact):
    """Whose round of a crop comes on a day."""

    words: ClassVar[str] = "supply.comes-next"
    who: Any
    crop: Any
    on: date


@dataclass(frozen=True, slots=True)
class DrawnBy(Fact):
    """Who took how much from a barrel."""

    words: ClassVar[str] = "supply.drawn-by"
    who: Any
    amount: Quantity


@dataclass(frozen=True, slots=True)
class BarrelDrawn(Fact):
    """What was taken from a barrel by whom, and what is left in it."""

    words: ClassVar[str] = "supply.barrel-drawn"
    barrel: str
    drawn: tuple[Fact, ...]
    left: Quantity


def rounds_of(book: Book) -> tuple[Fact, ...]:
    """Who sprayed lately, who is late, who comes next; in each the earliest first."""
    done: list[tuple[date, Fact]] = []
    coming: list[tuple[date, Fact]] = []
    for told in book.open(rounds.SUBJECT, rounds.fold):
        plan = told.ahead(book.today)
        who, crop = _who_and_crop(plan, book)
        last = plan.done[-1].on if plan.done else None
        if last is not None and (book.today - last).days <= RECENT_DAYS:
            done.append((last, DidSpray(who, crop, last)))
        if plan.next_on is not None and _missed_on(told, book.today) is None:
            coming.append((plan.next_on, ComesNext(who, crop, plan.next_on)))
    rows = (sorted(each, key=_day_of) for each in (done, coming))
    first, then = ([fact for _day, fact in each] for each in rows)
    return (*first, *late(book), *then)


def late(book: Book) -> tuple[Fact, ...]:
    """Whose rounds are past their day without a word, the earliest first."""
    found: list[tuple[date, Fact]] = []
    for told in book.open(rounds.SUBJECT, rounds.fold):
        missed_on = _missed_on(told, book.today)
        if missed_on is not None:
            found.append((missed_on, IsLate(*_who_and_crop(told, book), missed_on)))
    return tuple(fact for _day, fact in sorted(found, key=_day_of))


def drawn(book: Book) -> tuple[Fact, ...]:
    """Litres drawn by whom from each barrel in use, and what is left in it."""
    said: list[Fact] = []
    for batch in book.open(batches.SUBJECT, batches.fold):
        taken: dict[str, int] = {}
        for draw in batch.draws:
            taken[draw.member_id] = taken.get(draw.member_id, 0) + draw.amount_ml
        if taken:
            rows = tuple(DrawnBy(name_of(who, book), litres(ml)) for who, ml in taken.items())
            said.append(BarrelDrawn(batch.code, rows, litres(batch.left_ml)))
    return tuple(said)


def _missed_on(told: Rounds, today: date) -> date | None:
    """The last day of the plan that passed without a word, if none was done since."""
    last = told.done[-1].on if told.done else date.min
    silent = [day for day in (*told.unreported, *told.dates) if last < day < today]
    return silent[-1] if silent else None


def _who_and_crop(plan: Rounds, book: Book) -> tuple[Any, Any]:
    return name_of(book.owner_of(plan.id), book), Term("crop", plan.crop)


def _day_of(row: tuple[date, Fact]) -> date:
    return row[0]
