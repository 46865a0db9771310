"""Thinning a culture: from what a grower has or wants, to what is poured into each tank.

All amounts are whole millilitres. What is measured is the culture; water is the rest of the tank,
so culture + water is always exactly the mix. `1:3` is 1 part culture + 3 parts water.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

LARGEST_ML = 1_000_000_000
"""A thousand cubic metres: more is a slip of the pen."""

MOST_TANKS = 10_000

STATED_ERROR = Decimal(2)
"""A rounding error over 2 % of the culture is told. Ours, no source."""

Rounding = Callable[[Fraction], int]
"""Turns an exact amount of culture in mL into one that can be measured."""


class AmountError(ValueError):
    """An amount that cannot be: `field` names it, `reason` is zero, negative, too_large, too_many.

    What is too little to measure is `too_small`.
    """

    def __init__(self, field: str, reason: str) -> None:
        super().__init__(f"{field}: {reason}")
        self.field = field
        self.reason = reason


@dataclass(frozen=True, slots=True)
class Strength:
    """Parts of culture to parts of water; no water is the culture as it is."""

    culture_parts: Decimal
    water_parts: Decimal

    def __post_init__(self) -> None:
        _positive("culture_parts", self.culture_parts)
        if not self.water_parts.is_finite() or self.water_parts < 0:
            raise AmountError("water_parts", "negative")
        if self.water_parts > self.culture_parts * 1_000_000:
            raise AmountError("water_parts", "too_large")

    @property
    def share(self) -> Fraction:
        """The culture's part of the mix, exact: a quarter for 1:3."""
        culture = Fraction(self.culture_parts)
        return culture / (culture + Fraction(self.water_parts))

    @property
    def percent(self) -> Decimal:
        """The culture's part of the mix in percent by volume."""
        return _decimal(self.share * 100)


def parts(culture_parts: Decimal | int, water_parts: Decimal | int) -> Strength:
    """The strength of culture parts TO water parts.

    >>> parts(1, 3).percent
    Decimal('25')
    """
    return Strength(Decimal(culture_parts), Decimal(water_parts))


def one_in(total_parts: Decimal | int) -> Strength:
    """The strength of 1 part IN so many of the mix, as pharmacies and laboratories count.

    Raises:
        AmountError: fewer than one part in all.

    Source: WHO 2014, Infection prevention and control of ARI, Annex G (1:100 is 1 + 99).

    >>> one_in(4) == parts(1, 3)
    True
    """
    return parts(1, Decimal(total_parts) - 1)


def percent(culture_percent: Decimal | int) -> Strength:
    """The strength of so many percent of culture by volume in the mix.

    Raises:
        AmountError: not above 0 and up to 100.

    >>> percent(25).share == parts(1, 3).share
    True
    """
    return parts(Decimal(culture_percent), 100 - Decimal(culture_percent))


def ml_in(culture_ml: Decimal | int, mix_ml: Decimal | int) -> Strength:
    """The strength of so much culture in a mix filled up to so much, as 30 mL in a 15-L tank.

    >>> ml_in(250, 1000) == Strength(Decimal(250), Decimal(750))
    True
    """
    return parts(Decimal(culture_ml), Decimal(mix_ml) - Decimal(culture_ml))


def ml_to(culture_ml: Decimal | int, water_ml: Decimal | int) -> Strength:
    """The strength of so much culture added to so much water, as 30 mL to each litre of water."""
    return parts(Decimal(culture_ml), Decimal(water_ml))


def water_parts_from(have_percent: Decimal, wanted_percent: Decimal) -> Decimal:
    """Parts of water to add to one part of a solution, from both strengths in percent.

    Raises:
        AmountError: the wanted strength is above the one in hand.

    Source: CDC, Chlorine disinfectant solution preparation, App. E: have/wanted - 1.

    >>> water_parts_from(Decimal("3.5"), Decimal("0.5"))
    Decimal('6')
    """
    _positive("have_percent", have_percent)
    _positive("wanted_percent", wanted_percent)
    if wanted_percent > have_percent:
        raise AmountError("wanted_percent", "too_large")
    return have_percent / wanted_percent - 1


# --- rounding to what can be measured ---------------------------------------------------------

_STEPS_ML = (10_000_000, 1_000_000, 100_000, 10_000, 5_000, 1_000, 500, 100, 50, 10, 5, 1)
"""Each step divides the one before, so rounding never turns a larger amount into a smaller."""


def handy(exact_ml: Fraction) -> int:
    """The amount nearest to `exact_ml` on the coarsest usual marks that stay within 1 %.

    Never under 1 mL; below 50 mL the mark is the millilitre, however far it is off.

    >>> handy(Fraction(8000, 3)), handy(Fraction(3750)), handy(Fraction(15000, 11))
    (2650, 3750, 1350)
    """
    for step in _STEPS_ML:
        nearest = _nearest(exact_ml, step)
        if abs(nearest - exact_ml) * 100 <= exact_ml:
            return nearest
    return max(1, _nearest(exact_ml, 1))


def handy_up(exact_ml: Fraction) -> int:
    """At least `exact_ml`, on the coarsest usual marks at most 2 % above it.

    >>> handy_up(Fraction("40468.56"))
    41000
    """
    for step in _STEPS_ML:
        above = -(-exact_ml // step) * step
        if (above - exact_ml) * 100 <= exact_ml * int(STATED_ERROR):
            return int(above)
    return int(-(-exact_ml // 1))


def to_step(step_ml: int) -> Rounding:
    """A rounding to whole steps of a measure (a 50 mL cap: 50), half up, at least one step.

    >>> to_step(180)(Fraction(4000))
    3960
    """
    _positive("step_ml", Decimal(step_ml))

    def rounded(exact_ml: Fraction) -> int:
        return max(step_ml, _nearest(exact_ml, step_ml))

    return rounded


def to_the_ml(exact_ml: Fraction) -> int:
    """The amount to the nearest millilitre, half up, at least 1."""
    return max(1, _nearest(exact_ml, 1))


def _nearest(exact: Fraction, step: int) -> int:
    return int((exact / step + Fraction(1, 2)) // 1) * step


# --- the mix ----------------------------------------------------------------------------------


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
            _decimal(
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
    _measurable("mix_ml", mix_ml)
    if tank_ml is None:
        return Mix(strength, (_fill(1, mix_ml, strength, rounding),))
    _measurable("tank_ml", tank_ml)
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
    _positive("tanks", Decimal(tanks))
    if tanks > MOST_TANKS:
        raise AmountError("tanks", "too_many")
    _measurable("tank_ml", tank_ml)
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
    _measurable("culture_ml", culture_ml)
    if tank_ml is None:
        return Mix(strength, (_rest(culture_ml, strength),))
    _measurable("tank_ml", tank_ml)
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
    _positive("amount", amount)
    _positive("ml_each", ml_each)
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
    _positive("mix_ml", Decimal(mix_ml))
    _positive("ml_each", ml_each)
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


def _positive(field: str, amount: Decimal | Fraction) -> None:
    if isinstance(amount, Decimal) and not amount.is_finite():
        raise AmountError(field, "too_large")
    if amount < 0:
        raise AmountError(field, "negative")
    if amount == 0:
        raise AmountError(field, "zero")


def _measurable(field: str, amount_ml: int) -> None:
    _positive(field, Decimal(amount_ml))
    if amount_ml > LARGEST_ML:
        raise AmountError(field, "too_large")


def _decimal(exact: Fraction) -> Decimal:
    return Decimal(exact.numerator) / Decimal(exact.denominator)
