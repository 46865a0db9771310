"""An amount in another unit, a member's own measures included."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from bot.craft.units import (
    AmbiguousUnitError,
    Quantity,
    UnitError,
    settled,
)
from bot.facts import Count, Fact, Request, Term
from bot.records.book import Answer, Book

KIND = "convert"


@dataclass(frozen=True, slots=True)
class Equals(Fact):
    """An amount and the same one in another unit."""

    words: ClassVar[str] = "convert.equals"
    said: Any
    result: Any


@dataclass(frozen=True, slots=True)
class HoldsUnknown(Fact):
    """What a vessel of the member holds is not known; how to tell it."""

    words: ClassVar[str] = "convert.holds-unknown"
    vessel: Term


@dataclass(frozen=True, slots=True)
class NotTheSame(Fact):
    """The two do not measure the same thing."""

    words: ClassVar[str] = "convert.not-the-same"


@dataclass(frozen=True, slots=True)
class FromWhat(Fact):
    """Asks for an amount and a unit by an example."""

    words: ClassVar[str] = "convert.from-what"


def answer(request: Request, book: Book) -> Answer:
    """The amount in the unit; in each meaning of a unit whose size the place leaves open."""
    said, unit = request.slots.get("amount"), request.slots.get("unit")
    if said is None or not isinstance(unit, Term):
        return Answer((FromWhat(),))
    measures = book.member.settings.get("measures", {})
    amount = said
    if isinstance(said, Count):
        if said.noun not in measures:
            return Answer((HoldsUnknown(Term("vessel", said.noun)),))
        amount = Quantity(said.n * Decimal(measures[said.noun]), "millilitre")
    if unit.name in measures:
        return _in_measure(said, amount, unit.name, Decimal(measures[unit.name]))
    try:
        units = _meant(unit.name, book)
        return Answer(tuple(Equals(said, amount.to(each)) for each in units))
    except UnitError:
        return Answer((NotTheSame(),))


def _meant(unit: str, book: Book) -> tuple[str, ...]:
    chosen = book.group.settings.get("units", {})
    try:
        return (settled(Quantity(Decimal(1), unit), book.member.country, chosen).unit,)
    except AmbiguousUnitError as fault:
        return tuple(dict.fromkeys(each.unit for each in fault.meanings))


def _in_measure(said: Any, amount: Quantity, name: str, ml: Decimal) -> Answer:
    try:
        n = amount.to("millilitre").value / ml
    except UnitError:
        return Answer((NotTheSame(),))
    return Answer((Equals(said, Count(n.quantize(Decimal("0.1")), name)),))
