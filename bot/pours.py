"""What is poured, as facts: the same clauses for whoever asks and for a round that falls due."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar

from bot.craft import mixing
from bot.craft.units import Quantity
from bot.facts import Count, Fact, Ratio, Term


@dataclass(frozen=True, slots=True)
class EachTank(Fact):
    """What is poured into each full tank."""

    words: ClassVar[str] = "mix.each-tank"
    tank: Quantity
    culture: Quantity
    water: Quantity


@dataclass(frozen=True, slots=True)
class LastTank(Fact):
    """What is poured into the last, part-filled tank."""

    words: ClassVar[str] = "mix.last-tank"
    mix: Quantity
    culture: Quantity
    water: Quantity


@dataclass(frozen=True, slots=True)
class InAll(Fact):
    """The totals over all tanks."""

    words: ClassVar[str] = "mix.in-all"
    tanks: Count
    culture: Quantity
    water: Quantity


@dataclass(frozen=True, slots=True)
class OneMix(Fact):
    """What is poured when no tank was named."""

    words: ClassVar[str] = "mix.one"
    culture: Quantity
    water: Quantity
    mix: Quantity


@dataclass(frozen=True, slots=True)
class AsItIs(Fact):
    """The culture is used without water."""

    words: ClassVar[str] = "mix.as-it-is"
    culture: Quantity


@dataclass(frozen=True, slots=True)
class ByRecipe(Fact):
    """Which recipe and use the amounts are for, and their strength."""

    words: ClassVar[str] = "mix.by-recipe"
    recipe: Term
    use: Term
    ratio: Ratio


@dataclass(frozen=True, slots=True)
class ByRecipeAsItIs(Fact):
    """Which recipe and use, where nothing is thinned."""

    words: ClassVar[str] = "mix.by-recipe-as-it-is"
    recipe: Term
    use: Term


@dataclass(frozen=True, slots=True)
class LeftOver(Fact):
    """Culture that stays, as it fills no measurable part of a tank."""

    words: ClassVar[str] = "mix.left-over"
    left: Quantity


@dataclass(frozen=True, slots=True)
class Rounded(Fact):
    """The rounding to what can be measured is over 2 %."""

    words: ClassVar[str] = "mix.rounded"
    percent: Decimal


def poured(mix: mixing.Mix, tank_ml: int | None, named: Fact | None = None) -> tuple[Fact, ...]:
    """Per tank first, the last part-filled tank, the totals after, then the recipe's name."""
    facts: list[Fact] = []
    full = [fill for fill in mix.fills if tank_ml is not None and fill.mix_ml == tank_ml]
    if tank_ml is None or (mix.tanks == 1 and not full):
        facts.append(one_mix(mix))
    else:
        for fill in mix.fills:
            kind = EachTank if fill in full else LastTank
            facts.append(kind(litres(fill.mix_ml), litres(fill.culture_ml), litres(fill.water_ml)))
        if mix.tanks > 1:
            tanks = Count(Decimal(mix.tanks), "tank")
            facts.append(InAll(tanks, litres(mix.culture_ml), litres(mix.water_ml)))
    if named is not None:
        facts.append(named)
    if mix.left_ml:
        facts.append(LeftOver(litres(mix.left_ml)))
    if mix.error_told:
        facts.append(Rounded(abs(mix.error_percent).quantize(Decimal(1))))
    return tuple(facts)


def one_mix(mix: mixing.Mix) -> Fact:
    """What is poured where no tank was named."""
    if mix.water_ml == 0:
        return AsItIs(litres(mix.culture_ml))
    return OneMix(litres(mix.culture_ml), litres(mix.water_ml), litres(mix.mix_ml))


def litres(ml: int) -> Quantity:
    """So many millilitres as a quantity; words choose the unit."""
    return Quantity(Decimal(ml), "millilitre")
