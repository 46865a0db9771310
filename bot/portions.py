"""What goes into a vessel, as facts: the same words for a start, a recipe and a shopping list."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from bot.craft import making
from bot.craft.units import Quantity
from bot.facts import Fact, Term


@dataclass(frozen=True, slots=True)
class Portion(Fact):
    """So much of one ingredient."""

    words: ClassVar[str] = "start.portion"
    amount: Any
    name: Term


@dataclass(frozen=True, slots=True)
class KindsOf(Fact):
    """So much of each of several kinds: three oilseeds, 100 g each."""

    words: ClassVar[str] = "start.kinds-of"
    kinds: int
    name: Term
    amount: Any


@dataclass(frozen=True, slots=True)
class Unmeasured(Fact):
    """Ingredients whose amount is not given on purpose."""

    words: ClassVar[str] = "start.unmeasured"
    name: tuple[Term, ...]


@dataclass(frozen=True, slots=True)
class Parts(Fact):
    """So many parts of one ingredient, by volume or weight: from the lower to the upper."""

    words: ClassVar[str] = "start.parts"
    low: int
    high: int
    name: Term


@dataclass(frozen=True, slots=True)
class PartsOf(Fact):
    """So many parts of one ingredient, where sources agree."""

    words: ClassVar[str] = "start.parts-of"
    plural: ClassVar[str] = "parts"
    parts: int
    name: Term


def portions(each: Iterable[making.Portion]) -> tuple[Fact, ...]:
    """Each ingredient with its upper amount (parts keep both ends); those without one last."""
    rows = tuple(each)
    unmeasured = tuple(Term("ingredient", row.name) for row in rows if row.high is None)
    measured = tuple(
        _portion(Term("ingredient", row.name), row, row.low or row.high, row.high)
        for row in rows
        if row.high is not None
    )
    return (*measured, Unmeasured(unmeasured)) if unmeasured else measured


def _portion(name: Term, row: making.Portion, low: int, high: int) -> Fact:
    if row.unit == "part":
        return PartsOf(high, name) if low == high else Parts(low, high, name)
    if row.unit == "pack":
        return Portion(Decimal(high), name)
    amount = Quantity(Decimal(high), row.unit)
    return KindsOf(row.kinds, name, amount) if row.kinds > 1 else Portion(amount, name)
