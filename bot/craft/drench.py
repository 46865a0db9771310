"""Drench by plants: how many stand on an area, what each gets, how many one tank reaches."""

from __future__ import annotations

from decimal import ROUND_FLOOR, Decimal
from fractions import Fraction

from bot.craft.amounts import AmountError, positive
from bot.craft.mixing import Mix, Rounding, Strength, handy, mix_for

CLOSEST_M = Decimal("0.01")


def plants_on(area_m2: Decimal, row_m: Decimal, plant_m: Decimal) -> int:
    """Whole plants on an area, from the distance of the rows and of the plants in a row.

    Raises:
        AmountError: an area or a distance is zero, negative, or under a centimetre.

    >>> plants_on(Decimal("2023.4282112"), Decimal("0.9"), Decimal("0.6"))  # half an acre
    3747
    """
    positive(area_m2=area_m2, row_m=row_m, plant_m=plant_m)
    for field, value in (("row_m", row_m), ("plant_m", plant_m)):
        if value < CLOSEST_M:
            raise AmountError(field, "too_small")
    return int((area_m2 / (row_m * plant_m)).to_integral_value(ROUND_FLOOR))


def drench(
    plants: int,
    ml_each: Decimal,
    strength: Strength,
    tank_ml: int | None = None,
    rounding: Rounding = handy,
) -> Mix:
    """What to pour so that each of so many plants gets its share; the mix is rounded up.

    Raises:
        AmountError: a number or an amount is zero, negative or absurd.

    >>> from bot.craft.mixing import parts
    >>> mix = drench(300, Decimal(250), parts(1, 2))
    >>> mix.culture_ml, mix.water_ml
    (25000, 50000)
    """
    return mix_for(Fraction(plants), Fraction(ml_each), strength, tank_ml, rounding)


def plants_reached(mix_ml: int, ml_each: Decimal) -> int:
    """Whole plants that so much mix reaches.

    Raises:
        AmountError: an amount is zero or negative.

    >>> plants_reached(16_000, Decimal(250))
    64
    """
    positive(mix_ml=mix_ml, ml_each=ml_each)
    return int(Decimal(mix_ml) // ml_each)


def ml_each_from(l_per_m2: Decimal, row_m: Decimal, plant_m: Decimal) -> Decimal:
    """What each plant gets if so many litres go on a square metre at this spacing, in mL."""
    return l_per_m2 * 1000 * row_m * plant_m
