"""A member's own measures: found against a marked bottle, and said back."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from bot.craft.amounts import AmountError
from bot.craft.measures import found_against, measure
from bot.craft.units import Quantity, settled
from bot.facts import Count, Fact, Request, Term
from bot.records.book import Answer, Book
from bot.records.changes import MemberSet

KIND = "measure"


@dataclass(frozen=True, slots=True)
class Holds(Fact):
    """What one of the member's measures holds."""

    words: ClassVar[str] = "measure.holds"
    measure: Count
    holds: Quantity


@dataclass(frozen=True, slots=True)
class HoldsNow(Fact):
    """What the measure holds from now on, found against a bottle."""

    words: ClassVar[str] = "measure.found"
    measure: Count
    holds: Quantity


@dataclass(frozen=True, slots=True)
class NotMeasured(Fact):
    """The measure is not known yet; how to find it."""

    words: ClassVar[str] = "measure.unknown"
    measure: Term


@dataclass(frozen=True, slots=True)
class NoneMeasured(Fact):
    """No measure is known yet; how to give one."""

    words: ClassVar[str] = "measure.none"


@dataclass(frozen=True, slots=True)
class MeasureCannotBe(Fact):
    """A measure that cannot be."""

    words: ClassVar[str] = "measure.cannot-be"


def answer(request: Request, book: Book) -> Answer:
    """Keep what was found against a bottle; else what the named one, or each, holds."""
    slots = request.slots
    kept: dict[str, str] = dict(book.member.settings.get("measures", {}))
    try:
        if "fills" in slots:
            name, times, full = slots["fills"]
            one = found_against(name, settled(full).to("millilitre").value, times)
        elif "name" in slots and "amount" in slots:
            one = measure(_name(slots["name"]), settled(slots["amount"]).to("millilitre").value)
        else:
            return _said(slots.get("name"), kept)
    except AmountError:
        return Answer((MeasureCannotBe(),))
    holds = one.ml.quantize(Decimal(1)) if one.ml >= 10 else one.ml.quantize(Decimal("0.1"))
    if not holds:
        return Answer((MeasureCannotBe(),))
    fact = HoldsNow(Count(Decimal(1), one.name), Quantity(holds, "millilitre"))
    return Answer((fact,), (MemberSet("measures", {**kept, one.name: str(holds)}),))


def _said(named: Any, kept: dict[str, str]) -> Answer:
    if named is not None:
        name = _name(named)
        if name not in kept:
            return Answer((NotMeasured(Term("vessel", name)),))
        return Answer((_holds(name, kept[name]),))
    if not kept:
        return Answer((NoneMeasured(),))
    return Answer(tuple(_holds(name, ml) for name, ml in kept.items()))


def _holds(name: str, ml: str) -> Fact:
    return Holds(Count(Decimal(1), name), Quantity(Decimal(ml), "millilitre"))


def _name(value: Any) -> str:
    return value.name if isinstance(value, Term) else str(value)
