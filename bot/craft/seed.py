"""Wetting seed with a culture: how much for a weight of seed, how long, and what not to do."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from bot.craft.amounts import AmountError, positive
from bot.craft.crops import crop_of
from bot.craft.marks import handy, handy_up

Method = Literal["coat", "soak"]

SHADE = timedelta(minutes=30)
"""How long wetted seed lies in shade before it is sown.

Source: common practice; microsaranraj.blogspot 2023 (30 minutes), seen.
"""

MOST_KG = 100_000


@dataclass(frozen=True, slots=True)
class Published:
    """One published amount per kilogram of seed, in mL, with where it stands."""

    method: Method
    low_ml: int
    high_ml: int
    source: str
    mark: str


PUBLISHED: tuple[Published, ...] = (
    Published("coat", 50, 50, "Himachal Pradesh Government, hpagrisnet page 158", "seen"),
    Published("coat", 20, 20, "microsaranraj.blogspot 2023, university type schedule", "seen"),
    Published("coat", 30, 40, "rich-biotechnology 2009", "seen"),
    Published("soak", 1000, 1500, "seed just covered", "common practice, no source"),
)


@dataclass(frozen=True, slots=True)
class Wetting:
    """Culture for some seed: the ends of the published span and the amount to take between them.

    `splits` is true where a soak would split the coat of this crop's seed.
    """

    method: Method
    low_ml: int
    high_ml: int
    take_ml: int
    splits: bool


def span(method: Method) -> tuple[int, int]:
    """The lowest and the highest published mL per kilogram of seed.

    >>> span("coat")
    (20, 50)
    """
    rows = [each for each in PUBLISHED if each.method == method]
    return min(each.low_ml for each in rows), max(each.high_ml for each in rows)


def wetting(weight_kg: Decimal, method: Method = "coat", crop: str = "") -> Wetting:
    """How much culture, unthinned, wets so much seed; the middle of the span, rounded up.

    A coat is capped at the highest published amount: more would be a soak.

    Raises:
        AmountError: a weight of zero, below it, or over 100 tonnes.

    >>> wetting(Decimal(10))
    Wetting(method='coat', low_ml=200, high_ml=500, take_ml=350, splits=False)
    """
    positive(weight_kg=weight_kg)
    if weight_kg > MOST_KG:
        raise AmountError("weight_kg", "too_large")
    low, high = (handy(Fraction(weight_kg) * each) for each in span(method))
    middle = handy_up(Fraction(weight_kg) * sum(span(method)) / 2)
    take = max(low, min(middle, high))
    return Wetting(method, low, high, take, method == "soak" and crop_of(crop).legume)


def out_of_shade_at(wetted_at: datetime) -> datetime:
    """The instant at which the seed may be sown."""
    return wetted_at + SHADE


@dataclass(frozen=True, slots=True)
class SeedRate:
    """Kilograms of seed for a hectare, both ends, with where they stand."""

    low_kg_per_ha: Decimal
    high_kg_per_ha: Decimal
    source: str
    mark: str


def _rate(low: str, high: str, source: str, mark: str = "seen") -> SeedRate:
    return SeedRate(Decimal(low), Decimal(high), source, mark)


_ECOURSES = "ecoursesonline.iasri.res.in 56473"
_MEMORY = "extension seed-rate lists"

SEED_RATES: dict[str, SeedRate] = {
    **dict.fromkeys(
        ("cowpea", "cluster_bean", "lablab", "horse_gram", "pigeon_pea"),
        _rate("20", "25", _ECOURSES),
    ),
    "soybean": _rate("75", "80", f"{_ECOURSES} (fodder)"),
    "chickpea": _rate("74", "86", "lms.su.edu.pk, 30-35 kg an acre"),
    "rice": _rate("40", "100", "docsbay Table 2, transplanted to broadcast"),
    "sorghum": _rate("10", "12", "docsbay Table 2"),
    "lentil": _rate("30", "60", _MEMORY, "from memory"),
    "mung_bean": _rate("15", "25", _MEMORY, "from memory"),
    "black_gram": _rate("15", "25", _MEMORY, "from memory"),
    "mustard": _rate("4", "6", _MEMORY, "from memory"),
    "groundnut": _rate("100", "125", f"{_MEMORY}, kernels", "from memory"),
    "wheat": _rate("100", "125", _MEMORY, "from memory"),
    "maize": _rate("18", "25", _MEMORY, "from memory"),
    "sesame": _rate("3", "5", _MEMORY, "from memory"),
    "linseed": _rate("15", "30", _MEMORY, "from memory"),
}


def seed_for(crop: str, area_m2: Decimal) -> tuple[Decimal, Decimal] | None:
    """Kilograms of seed for an area, both ends; None for a crop without a known rate.

    Raises:
        AmountError: the area is zero or negative.
    """
    positive(area_m2=area_m2)
    rate = SEED_RATES.get(crop)
    if rate is None:
        return None
    return rate.low_kg_per_ha * area_m2 / 10_000, rate.high_kg_per_ha * area_m2 / 10_000


@dataclass(frozen=True, slots=True)
class RootDip:
    """How long seedling roots stand in the culture, in minutes, both ends.

    Source: rice 8-10 h (rich-biotechnology 2009); vegetables 5-10 min (microsaranraj.blogspot
    2023). Both seen.
    """

    low_minutes: int
    high_minutes: int


def root_dip(crop: str) -> RootDip:
    """How long the roots of this crop's seedlings are dipped: rice long, all else briefly."""
    return RootDip(480, 600) if crop == "rice" else RootDip(5, 10)
