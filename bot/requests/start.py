"""A barrel was started: what goes in, and the dates to come."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any, ClassVar

from bot import care
from bot.clock import instant
from bot.craft import batches, making
from bot.craft.entries import Entry, Head
from bot.craft.mixing import AmountError
from bot.craft.outlook import Outlook
from bot.craft.pointing import BESIDE_OTHERS, pointed
from bot.craft.recipe import Recipe
from bot.craft.units import Quantity, settled
from bot.extremes import extremes
from bot.facts import Fact, Question, Request, Term
from bot.portions import portions
from bot.records import meant
from bot.records.book import Answer, Book
from bot.records.changes import Change, Opened, Recorded

KIND = "start"

USUAL_RECIPE = "mother"


@dataclass(frozen=True, slots=True)
class Started(Fact):
    """The barrel, what it makes, its size and the day it was started."""

    words: ClassVar[str] = "start.started"
    barrel: str
    recipe: Term
    size: Quantity
    on: date


@dataclass(frozen=True, slots=True)
class FreshFilling(Fact):
    """What goes into a barrel with a fresh starter or none: the liquid first."""

    words: ClassVar[str] = "start.fresh-filling"
    liquid: Any
    amount: Quantity
    portions: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class KeptFilling(Fact):
    """What goes in beside what was kept back; the feed is for the water added."""

    words: ClassVar[str] = "start.kept-filling"
    kept: Quantity
    liquid: Any
    amount: Quantity
    portions: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class StirAndLook(Fact):
    """Stirred daily at the member's hour; looked at from the first day to the last."""

    words: ClassVar[str] = "start.stir-and-look"
    hour: time
    first: date
    last: date
    likely: date


@dataclass(frozen=True, slots=True)
class LookOnly(Fact):
    """A recipe that is not stirred: when to look."""

    words: ClassVar[str] = "start.look-only"
    first: date
    last: date
    likely: date


@dataclass(frozen=True, slots=True)
class WhatSize(Fact):
    """Asks how many litres the barrel holds."""

    words: ClassVar[str] = "start.what-size"


@dataclass(frozen=True, slots=True)
class KeptTooMuch(Fact):
    """More was kept back than the barrel holds."""

    words: ClassVar[str] = "start.kept-too-much"
    kept: Quantity
    size: Quantity


@dataclass(frozen=True, slots=True)
class SizeCannotBe(Fact):
    """A barrel of that size cannot be."""

    words: ClassVar[str] = "start.size-cannot-be"


@dataclass(frozen=True, slots=True)
class StillGoing(Fact):
    """The named barrel still has a culture in it."""

    words: ClassVar[str] = "start.still-going"
    barrel: str


@dataclass(frozen=True, slots=True)
class NotYetCome(Fact):
    """The day of the start lies in the future."""

    words: ClassVar[str] = "start.not-yet-come"
    on: date


def answer(request: Request, book: Book) -> Answer:
    """The barrel's short name, feed and water, and the dates to come."""
    slots = request.slots
    known = book.open(batches.SUBJECT, batches.fold)
    barrel, name = _barrel(slots, known)
    if barrel is not None and barrel.is_live:
        return Answer((StillGoing(barrel.code),))
    size = slots.get("size")
    size_ml = _ml(size) if size is not None else (barrel.size_ml if barrel else 0)
    if size is None and not size_ml:
        return Answer(question=Question(WhatSize(), request, "size"))
    if barrel is None and not name:
        barrel = next(
            (each for each in known if not each.is_live and each.size_ml == size_ml), None
        )
    on, at = _when(slots, book)
    if on > book.today:
        return Answer((NotYetCome(on),))
    recipe = book.recipe(slots.get("recipe"), USUAL_RECIPE) or book.recipes[USUAL_RECIPE]
    kept_ml = _ml(slots["kept"]) if "kept" in slots else 0
    try:
        filling = making.made(recipe, size_ml, kept_ml)
    except AmountError as fault:
        if fault.field == "kept_ml":
            return Answer((KeptTooMuch(_quantity(kept_ml), _quantity(size_ml)),))
        return Answer((SizeCannotBe(),))
    data = {
        "recipe": recipe.kind,
        "size_ml": size_ml,
        "kept_ml": kept_ml,
        "name": name,
        "on": on.isoformat(),
        **_given(slots, kept_ml, book),
    }
    change: Change
    if barrel is not None:
        code = barrel.code
        change = Recorded(barrel.id, "start", at, data)
    else:
        code = name or book.next_code("B")
        change = Opened(batches.SUBJECT, "start", at, data, code=code)
    seen = book.outlook(_as_started(code, book, at, data))
    facts: tuple[Fact, ...] = (
        Started(code, Term("recipe", recipe.kind), _quantity(size_ml), on),
        _filling(filling),
        *_dates(seen, recipe, book),
    )
    warned, noted = _warned(recipe, book)
    return Answer((*facts, *warned, *meant.clock(book)), (change, *noted))


def _given(slots: Any, kept_ml: int, book: Book) -> dict[str, object]:
    """Which batch gave the start, and so which filling of its line this is."""
    named = slots.get("giver")
    if not named or not kept_ml:
        return {}
    known = [each for each in book.all(batches.SUBJECT, batches.fold) if each.started_on]
    found, _unknown = pointed(known, named[-1:])
    if not found:
        return {}
    return {"parent": found[-1].id, "generation": found[-1].generation + 1}


def _warned(recipe: Recipe, book: Book) -> tuple[tuple[Fact, ...], tuple[Change, ...]]:
    """One caution where the recipe has more of them than a mother culture has."""
    usual = book.recipes[USUAL_RECIPE]
    if set(recipe.hazards) <= set(usual.hazards):
        return (), ()
    return care.caution("start", book, recipe)


def _as_started(code: str, book: Book, at: datetime, data: Mapping[str, object]) -> batches.Batch:
    """The batch as it will stand once its start is recorded."""
    head = Head("", batches.SUBJECT, code, book.group.id, at, book.member.zone)
    return batches.fold(head, [Entry("start", at, data)])


def _dates(seen: Outlook | None, recipe: Recipe, book: Book) -> tuple[Fact, ...]:
    if seen is None:
        return ()
    days = (seen.look_on, seen.until_on, seen.likely_on)
    dates = StirAndLook(book.member.hour, *days) if recipe.stir_every_days else LookOnly(*days)
    return (dates, *extremes([seen]))


def _barrel(slots: Any, known: tuple[batches.Batch, ...]) -> tuple[batches.Batch | None, str]:
    """The barrel that is named and there, or the name of a new one."""
    which = slots.get("which") or ()
    if not which:
        return None, str(slots.get("name", ""))
    found, unknown = pointed(known, which)
    if found:
        return found[0], ""
    # A code of the usual form is given by us, so that no two barrels share one.
    ours = unknown[1:].isdecimal() or unknown in BESIDE_OTHERS
    return None, "" if ours else str(slots.get("name", unknown))


def _when(slots: Any, book: Book) -> tuple[date, datetime]:
    if "at" in slots:
        return book.local(slots["at"]).date(), slots["at"]
    on = slots.get("on", book.today)
    if on == book.today:
        return on, book.said_at
    # Only the day was said: its noon stands for it.
    return on, instant(on, time(12), book.member.zone)


def _filling(filling: making.Making) -> Fact:
    liquid = Term("ingredient", filling.liquid)
    amount = _quantity(filling.liquid_ml)
    parts = portions(filling.portions)
    if filling.kept_ml:
        return KeptFilling(_quantity(filling.kept_ml), liquid, amount, parts)
    return FreshFilling(liquid, amount, parts)


def _quantity(ml: int) -> Quantity:
    return Quantity(Decimal(ml), "millilitre")


def _ml(quantity: Quantity) -> int:
    return int(settled(quantity).to("millilitre").value.to_integral_value())
