"""A member's own measures: a cup, a cap, a bucket, found once against a marked bottle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from bot.craft.amounts import AmountError, positive
from bot.craft.marks import Rounding, to_step
from bot.craft.mixing import STATED_ERROR

LARGEST_ML = 1_000_000
MOST_SCOOPS = 20
"""More than this many of one measure is miscounted. Ours, no source."""


@dataclass(frozen=True, slots=True)
class Measure:
    """Something a member measures with, and what it holds. `halves`: it can be half filled."""

    name: str
    ml: Decimal
    halves: bool = True


def measure(name: str, ml: Decimal) -> Measure:
    """A measure that holds so much.

    Raises:
        AmountError: it holds nothing, less than nothing, or more than a cubic metre.

    >>> measure("cup", Decimal(180)).ml
    Decimal('180')
    """
    positive(measure_ml=ml)
    if ml > LARGEST_ML:
        raise AmountError("measure_ml", "too_large")
    # A cap is not half filled by eye.
    return Measure(name, ml, halves=ml >= 100)


def found_against(name: str, bottle_ml: Decimal, times: Decimal) -> Measure:
    """A measure of which so many fill a marked bottle: five cups to a litre hold 200 mL each.

    Raises:
        AmountError: a number of zero or below.

    >>> found_against("cup", Decimal(1000), Decimal(5)).ml
    Decimal('200')
    """
    positive(times=times)
    return measure(name, bottle_ml / times)


def holds(measures: Sequence[Measure], name: str, count: Decimal) -> Decimal | None:
    """Millilitres in so many of the member's own measure; None if they have none of that name.

    >>> holds([measure("cup", Decimal(180))], "cup", Decimal("2.5"))
    Decimal('450.0')
    """
    for each in measures:
        if each.name == name:
            return each.ml * count
    return None


@dataclass(frozen=True, slots=True)
class Scoops:
    """An amount in one measure: so many, perhaps with a half; how far off that is, signed."""

    measure: Measure
    count: Decimal
    error_percent: Decimal

    @property
    def ml(self) -> Decimal:
        """What that many hold."""
        return self.count * self.measure.ml

    @property
    def error_told(self) -> bool:
        """Whether the error is large enough to be told (over 2 %)."""
        return abs(self.error_percent) > STATED_ERROR


def in_measures(amount_ml: Decimal, measures: Sequence[Measure]) -> Scoops | None:
    """An amount in the member's own measure: the fewest scoops within 2 %, else the nearest.

    At most 20 scoops; None where no measure comes near (the nearest is over 10 % off).

    Raises:
        AmountError: the amount is zero or negative.

    >>> cup, cap = measure("cup", Decimal(180)), measure("cap", Decimal(20))
    >>> scoops = in_measures(Decimal(450), [cup, cap])
    >>> scoops.measure.name, scoops.count
    ('cup', Decimal('2.5'))
    """
    positive(amount_ml=amount_ml)
    offers: list[Scoops] = []
    for each in measures:
        step = Fraction(1, 2) if each.halves else Fraction(1)
        steps = int(Fraction(amount_ml) / Fraction(each.ml) / step + Fraction(1, 2))
        count = Decimal(steps) * (Decimal("0.5") if each.halves else Decimal(1))
        if 0 < count <= MOST_SCOOPS:
            error = (count * each.ml - amount_ml) * 100 / amount_ml
            offers.append(Scoops(each, count, error))
    near = [each for each in offers if not each.error_told]
    if near:
        return min(near, key=lambda each: (each.count, abs(each.error_percent)))
    best = min(offers, key=lambda each: abs(each.error_percent), default=None)
    return best if best is not None and abs(best.error_percent) <= 10 else None


def by(each: Measure) -> Rounding:
    """The rounding of culture to this measure (to its halves, if it can be half filled).

    >>> by(measure("cup", Decimal(180)))(Fraction(4000))
    3960
    """
    return to_step(max(1, int(each.ml / 2 if each.halves else each.ml)))
