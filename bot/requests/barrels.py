"""How the group's barrels stand."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, ClassVar

from bot.craft import batches
from bot.craft.batches import Batch
from bot.craft.units import Quantity
from bot.facts import Fact, Request, Term
from bot.records import meant
from bot.records.book import Answer, Book

KIND = "barrels"


@dataclass(frozen=True, slots=True)
class Fermenting(Fact):
    """A barrel that ferments: its age, when it was last stirred, when to look."""

    words: ClassVar[str] = "barrels.fermenting"
    barrel: str
    size: Quantity
    recipe: Term
    day: int
    stirred: Any
    first: date


@dataclass(frozen=True, slots=True)
class ReadyToUse(Fact):
    """A barrel that is ready: what is left, and until when it is used."""

    words: ClassVar[str] = "barrels.ready"
    barrel: str
    recipe: Term
    left: Quantity
    best: date


@dataclass(frozen=True, slots=True)
class Spoilt(Fact):
    """A barrel whose batch went bad."""

    words: ClassVar[str] = "barrels.spoilt"
    barrel: str


@dataclass(frozen=True, slots=True)
class Empty(Fact):
    """A barrel with nothing in it."""

    words: ClassVar[str] = "barrels.empty"
    barrel: str
    size: Quantity


@dataclass(frozen=True, slots=True)
class NoBarrels(Fact):
    """The group has no barrel; how to begin."""

    words: ClassVar[str] = "barrels.none"


def answer(request: Request, book: Book) -> Answer:
    """One line a barrel; only the ones that were named, if any were."""
    known = book.open(batches.SUBJECT, batches.fold)
    if not known:
        return Answer((NoBarrels(),))
    chosen = meant.barrels(known, request)
    if isinstance(chosen, Answer):
        return chosen
    return Answer(tuple(_line(each, book) for each in chosen))


def _line(batch: Batch, book: Book) -> Fact:
    recipe = book.recipes.get(batch.recipe)
    size = Quantity(Decimal(batch.size_ml), "millilitre")
    if batch.state == "bad":
        return Spoilt(batch.code)
    if recipe is None or not batch.is_live or batch.started_on is None:
        return Empty(batch.code, size)
    name = Term("recipe", batch.recipe)
    if batch.state == "ready":
        best, _last = batches.use_by(recipe, batch.ready_on or batch.started_on)
        return ReadyToUse(batch.code, name, Quantity(Decimal(batch.left_ml), "millilitre"), best)
    stirred = batch.stirred_on[-1] if batch.stirred_on else Term("word", "never")
    seen = book.outlook(batch)
    first = seen.look_on if seen else batch.started_on
    return Fermenting(batch.code, size, name, batch.age_days(book.today), stirred, first)
