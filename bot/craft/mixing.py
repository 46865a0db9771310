"""Thinning a culture: from what a grower has or wants, to what is poured into each tank.

All amounts are whole millilitres. What is measured is the culture; water is the rest of the tank,
so culture + water is always exactly the mix. `1:3` is 1 part culture + 3 parts water.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from bot.craft.amounts import LARGEST_ML, AmountError, measurable, positive
from bot.craft.marks import Rounding, handy, handy_up, to_step, to_the_ml
from bot.craft.strength import (
    Strength,
    decimal_of,
    ml_in,
    ml_to,
    one_in,
    parts,
    percent,
    water_parts_from,
)

__all__ = [
    "LARGEST_ML",
    "AmountError",
    "Fill",
    "Mix",
    "Rounding",
    "Strength",
    "handy",
    "handy_up",
    "mix_for",
    "mix_from_culture",
    "mix_of",
    "mix_of_tanks",
    "ml_in",
    "ml_to",
    "one_in",
    "parts",
    "percent",
    "reach",
    "to_step",
    "to_the_ml",
    "water_parts_from",
]

MOST_TANKS = 10_000

STATED_ERROR = Decimal(2)
"""A rounding error over 2 % of the culture is told. Ours, no source."""


@dataclass(frozen=True, slots=True)
class Fill:
    """So many tanks filled alike: what goes into each."""

    tanks: int
    culture_ml: int
    water_ml: int

    @property
    def mix_ml(self) -> int:
        """What one of these tanks then holds."""
        return self.culture_ml + self.water_ml


@dataclass(frozen=True, slots=True)
class Mix:
    """What is poured: full tanks first, then a last part-filled one if there is one.

    `left_ml` is culture in hand that is not used, as no measurable rest of a tank was left.
    """

    strength: Strength
    fills: tuple[Fill, ...]
    left_ml: int = 0

    @property
    def tanks(self) -> int:
        """How many tanks are filled, the part-filled one counted."""
        return sum(fill.tanks for fill in self.fills)

    @property
    def culture_ml(self) -> int:
        """All culture poured."""
        return sum(fill.tanks * fill.culture_ml for fill in self.fills)

    @property
    def water_ml(self) -> int:
        """All water poured."""
        return sum(fill.tanks * fill.water_ml for fill in self.fills)

    @property
    def mix_ml(self) -> int:
        """All that is then ready to be used: culture and water to the millilitre."""
        return self.culture_ml + self.water_ml

    @property
    def error_percent(self) -> Decimal:
        """How far rounding took the worst tank's culture from the exact amount, signed."""
        errors = [
            decimal_of(
                (fill.culture_ml - fill.mix_ml * self.strength.share)
                * 100
                / (fill.mix_ml * self.strength.share)
            )
            for fill in self.fills
        ]
        return max(errors, key=abs, default=Decimal(0))

    @property
    def error_told(self) -> bool:
        """Whether the error is large enough to be told (over 2 %)."""
        return abs(self.error_percent) > STATED_ERROR


def mix_of(
    mix_ml: int, strength: Strength, tank_ml: int | None = None, rounding: Rounding = handy
) -> Mix:
    """What to pour for so much mix; with a tank's size: tank by tank, the last part-filled.

    Raises:
        AmountError: an amount is zero, negative or absurd; more than 10 000 tanks.

    >>> mix_of(40_000, parts(1, 3), tank_ml=16_000).fills
    (Fill(tanks=2, culture_ml=4000, water_ml=12000), Fill(tanks=1, culture_ml=2000, water_ml=6000))
    """
    measurable(mix_ml=mix_ml)
    if tank_ml is None:
        return Mix(strength, (_fill(1, mix_ml, strength, rounding),))
    measurable(tank_ml=tank_ml)
    full, rest_ml = divmod(mix_ml, tank_ml)
    if full + bool(rest_ml) > MOST_TANKS:
        raise AmountError("tanks", "too_many")
    fills = [_fill(full, tank_ml, strength, rounding)] if full else []
    if rest_ml:
        fills.append(_fill(1, rest_ml, strength, rounding))
    return Mix(strength, tuple(fills))


def mix_of_tanks(
    tanks: Decimal | int, tank_ml: int, strength: Strength, rounding: Rounding = handy
) -> Mix:
    """What to pour into so many tanks; a broken number leaves the last part-filled.

    Raises:
        AmountError: an amount is zero, negative or absurd; more than 10 000 tanks.

    >>> mix = mix_of_tanks(3, 16_000, parts(1, 3))
    >>> mix.fills[0].culture_ml, mix.fills[0].water_ml, mix.culture_ml, mix.water_ml
    (4000, 12000, 12000, 36000)
    """
    positive(tanks=tanks)
    if tanks > MOST_TANKS:
        raise AmountError("tanks", "too_many")
    measurable(tank_ml=tank_ml)
    whole_ml = int(Fraction(tanks) * tank_ml)
    return mix_of(whole_ml, strength, tank_ml, rounding)


def mix_from_culture(
    culture_ml: int, strength: Strength, tank_ml: int | None = None, rounding: Rounding = handy
) -> Mix:
    """What the culture in hand makes: never more than is there; whole tanks, then the rest.

    The rest's water is rounded to the nearest millilitre mark that can be measured. A rest that
    makes under a fiftieth of a tank stays in the barrel as `left_ml`.

    Raises:
        AmountError: an amount is zero, negative or absurd.

    >>> mix_from_culture(40_000, parts(1, 3), tank_ml=16_000).fills
    (Fill(tanks=10, culture_ml=4000, water_ml=12000),)
    """
    measurable(culture_ml=culture_ml)
    if tank_ml is None:
        return Mix(strength, (_rest(culture_ml, strength),))
    measurable(tank_ml=tank_ml)
    each = _fill(1, tank_ml, strength, rounding)
    full, rest_ml = divmod(culture_ml, each.culture_ml)
    if full > MOST_TANKS:
        raise AmountError("tanks", "too_many")
    fills = [Fill(full, each.culture_ml, each.water_ml)] if full else []
    if rest_ml and (not full or rest_ml * 50 >= each.culture_ml):
        last = _rest(rest_ml, strength)
        fills.append(Fill(1, rest_ml, min(last.water_ml, max(0, tank_ml - rest_ml))))
        rest_ml = 0
    return Mix(strength, tuple(fills), rest_ml)


def mix_for(
    amount: Fraction,
    ml_each: Fraction,
    strength: Strength,
    tank_ml: int | None = None,
    rounding: Rounding = handy,
) -> Mix:
    """What to pour for so many of something at so many mL of mix each; the mix rounded up.

    For an area, `amount` in m² and `ml_each` in mL per m² (200 L/ha is 20); for plants, their
    number and mL a plant.

    Raises:
        AmountError: an amount is zero, negative or absurd.

    >>> mix_for(Fraction(300), Fraction(250), parts(1, 2)).mix_ml
    75000
    """
    positive(amount=amount)
    positive(ml_each=ml_each)
    exact_ml = amount * ml_each
    if exact_ml > LARGEST_ML:
        raise AmountError("mix_ml", "too_large")
    return mix_of(handy_up(exact_ml), strength, tank_ml, rounding)


def reach(mix_ml: int, ml_each: Fraction) -> Fraction:
    """How many m² (or plants) so much mix covers, at so many mL each.

    Raises:
        AmountError: an amount is zero or negative.

    >>> reach(16_000, Fraction(20))  # a 16-L tank at 200 L/ha covers 800 m²
    Fraction(800, 1)
    """
    positive(mix_ml=mix_ml)
    positive(ml_each=ml_each)
    return mix_ml / ml_each


def _fill(tanks: int, mix_ml: int, strength: Strength, rounding: Rounding) -> Fill:
    if strength.water_parts == 0:
        return Fill(tanks, mix_ml, 0)
    culture_ml = min(rounding(mix_ml * strength.share), mix_ml)
    return Fill(tanks, culture_ml, mix_ml - culture_ml)


def _rest(culture_ml: int, strength: Strength) -> Fill:
    if strength.water_parts == 0:
        return Fill(1, culture_ml, 0)
    share = strength.share
    exact_water = culture_ml * (1 - share) / share
    if exact_water > LARGEST_ML:
        raise AmountError("mix_ml", "too_large")
    return Fill(1, culture_ml, handy(exact_water))
