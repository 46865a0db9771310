"""Seed wetted with a culture: how much for a weight of it, and the time it lies in shade."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, ClassVar

from bot.craft import shade
from bot.craft.amounts import AmountError
from bot.craft.seed import Method, out_of_shade_at, wetting
from bot.craft.units import Quantity, settled
from bot.facts import Fact, Question, Request, Span, Term
from bot.records.book import Answer, Book
from bot.records.changes import Change, Opened, Recorded

KIND = "seed"


@dataclass(frozen=True, slots=True)
class ForSeed(Fact):
    """How much culture, unthinned, for so much seed, with the published span."""

    words: ClassVar[str] = "seed.coat"
    culture: Quantity
    weight: Quantity
    crop: Any
    published: Any


@dataclass(frozen=True, slots=True)
class ForSoak(Fact):
    """How much culture covers so much seed for a soak."""

    words: ClassVar[str] = "seed.soak"
    culture: Quantity
    weight: Quantity
    crop: Any
    published: Any


@dataclass(frozen=True, slots=True)
class Splits(Fact):
    """Seed of this crop splits in a soak; coat it."""

    words: ClassVar[str] = "seed.splits"
    crop: Any


@dataclass(frozen=True, slots=True)
class ThenShade(Fact):
    """Culture last, shade, no coloured seed; what to send to be reminded."""

    words: ClassVar[str] = "seed.then-shade"


@dataclass(frozen=True, slots=True)
class InShade(Fact):
    """The seed was wetted: from when it may be sown."""

    words: ClassVar[str] = "seed.in-shade"
    sow_at: datetime


@dataclass(frozen=True, slots=True)
class HowMuchSeed(Fact):
    """Asks for the weight of the seed."""

    words: ClassVar[str] = "seed.how-much"


@dataclass(frozen=True, slots=True)
class SeedCannotBe(Fact):
    """A weight of seed that cannot be."""

    words: ClassVar[str] = "seed.cannot-be"


def answer(request: Request, book: Book) -> Answer:
    """Litres of culture for the seed; or, once it is wetted, from when it may be sown."""
    slots = request.slots
    if slots.get("done"):
        return _wetted(slots, book)
    if "weight" not in slots:
        return Answer(question=Question(HowMuchSeed(), request, "weight"))
    crop = slots.get("crop", "")
    method: Method = "soak" if slots.get("method") == Term("method", "soak") else "coat"
    weight = settled(slots["weight"])
    try:
        found = wetting(weight.to("kilogram").value, method, _name(crop))
        splits = found.splits
        if splits:
            found = wetting(weight.to("kilogram").value, "coat")
    except AmountError:
        return Answer((SeedCannotBe(),))
    low, high = (Quantity(Decimal(ml), "millilitre") for ml in (found.low_ml, found.high_ml))
    kind = ForSoak if found.method == "soak" else ForSeed
    take = Quantity(Decimal(found.take_ml), "millilitre")
    warned = (Splits(crop),) if splits else ()
    return Answer((*warned, kind(take, weight, crop, Span(low, high)), ThenShade()))


def _wetted(slots: Any, book: Book) -> Answer:
    """The lot that is out of the shade is this one now; beside one still in it, another."""
    data = {"crop": _name(slots.get("crop", ""))}
    out = [lot for lot in book.open(shade.SUBJECT, shade.fold) if lot.sow_at <= book.said_at]
    change: Change = (
        Recorded(out[0].id, "wetted", book.said_at, data)
        if out
        else Opened(shade.SUBJECT, "wetted", book.said_at, data, code=book.next_code("seed"))
    )
    return Answer((InShade(out_of_shade_at(book.said_at)),), (change,))


def _name(crop: Any) -> str:
    return crop.name if isinstance(crop, Term) else str(crop)
