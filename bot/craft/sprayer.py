"""What a sprayer puts out: found by walking a course, from its nozzle, or with a jar; refills.

Metric inside: metres, seconds, millilitres, litres a hectare. A caller converts. Results are
Decimal and not rounded; `mixing` rounds what is poured.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from bot.craft.amounts import AmountError, positive

HECTARE_M2 = Decimal(10_000)

ACRE_M2 = Decimal("4046.8564224")
"""The international acre. Source: NIST SP 811, 43 560 ft² of 0.3048 m."""

JAR_PLOT_M2 = ACRE_M2 / 128
"""The plot of the jar method, 340.3125 ft²: US fluid ounces caught on it are US gallons an acre.

Source: UF/IFAS Extension Alachua County, 4 Feb 2022; a gallon is 128 fluid ounces.
"""

WORN_PERCENT = Decimal(10)
"""A nozzle this far off the mean is changed. Source: Florida pest-control exam manual, p. 213."""


@dataclass(frozen=True, slots=True)
class Output:
    """What a walked course shows: litres a hectare, walking speed, flow of the whole boom."""

    l_per_ha: Decimal
    km_per_h: Decimal
    ml_per_min: Decimal

    @property
    def ml_per_m2(self) -> Decimal:
        """The same rate in mL per square metre: 200 L/ha are 20."""
        return self.l_per_ha / 10


def walked(
    swath_m: Decimal, course_m: Decimal, seconds: Sequence[Decimal], caught_ml: Sequence[Decimal]
) -> Output:
    """What comes out over a course of any length and swath, in the seconds it takes to walk it.

    Several trials are averaged. `caught_ml` was caught in the mean time of the walks.

    Raises:
        AmountError: a length, time or volume is zero, negative or missing.

    Source: NSW DPI, Calibration method for knapsack and hand-held sprayers, 2009, Part B;
    stewardship training step 5 of 6 (pesticidewise.com).

    >>> out = walked(Decimal(1), Decimal(10), [Decimal(12)], [Decimal(400)])
    >>> out.l_per_ha, out.km_per_h, out.ml_per_min
    (Decimal('400'), Decimal('3.0'), Decimal('2000'))
    """
    positive(swath_m=swath_m, course_m=course_m)
    time_s, volume_ml = _mean("seconds", seconds), _mean("caught_ml", caught_ml)
    return Output(
        l_per_ha=volume_ml * 10 / (swath_m * course_m),
        km_per_h=course_m * Decimal("3.6") / time_s,
        ml_per_min=volume_ml * 60 / time_s,
    )


def from_flow(l_per_min: Decimal, km_per_h: Decimal, swath_m: Decimal) -> Decimal:
    """Litres a hectare from the flow of all nozzles, the speed and the swath.

    Raises:
        AmountError: a value is zero or negative.

    Source: identity, 600 = 10 000 m² x 60 min / 1000 m.

    >>> from_flow(Decimal("0.6"), Decimal("2.4"), Decimal("0.75")) == 200
    True
    """
    positive(flow=l_per_min, speed=km_per_h, swath_m=swath_m)
    return 600 * l_per_min / (km_per_h * swath_m)


def flow_for(l_per_ha: Decimal, km_per_h: Decimal, swath_m: Decimal) -> Decimal:
    """Litres a minute that give so many litres a hectare: the inverse of `from_flow`."""
    positive(l_per_ha=l_per_ha, speed=km_per_h, swath_m=swath_m)
    return l_per_ha * km_per_h * swath_m / 600


def speed_from(course_m: Decimal, seconds: Decimal) -> Decimal:
    """Kilometres an hour of a walk.

    >>> speed_from(Decimal(100), Decimal(90))
    Decimal('4.0')
    """
    positive(course_m=course_m, seconds=seconds)
    return course_m * Decimal("3.6") / seconds


def from_jar(caught_ml: Decimal, plot_m2: Decimal = JAR_PLOT_M2) -> Decimal:
    """Litres a hectare from what was sprayed over a marked plot (1/128 acre if not said)."""
    positive(caught_ml=caught_ml, plot_m2=plot_m2)
    return caught_ml * 10 / plot_m2


def course_for(swath_m: Decimal, plot_m2: Decimal = JAR_PLOT_M2) -> Decimal:
    """Metres to walk so that the swath covers the plot (1/128 acre if not said)."""
    positive(swath_m=swath_m, plot_m2=plot_m2)
    return plot_m2 / swath_m


@dataclass(frozen=True, slots=True)
class Refills:
    """Tanks for an area: so many full ones, then a last one with less (0: none)."""

    mix_ml: int
    full: int
    last_ml: int

    @property
    def tanks(self) -> int:
        """How often the sprayer is filled, the part-filled time counted."""
        return self.full + bool(self.last_ml)


def refills(area_m2: Decimal, l_per_ha: Decimal, tank_ml: int) -> Refills:
    """How often a tank is filled for an area; the mix is rounded up to a millilitre.

    Raises:
        AmountError: a value is zero or negative.

    >>> refills(Decimal(10_000), Decimal(200), 16_000)
    Refills(mix_ml=200000, full=12, last_ml=8000)
    """
    positive(area_m2=area_m2, l_per_ha=l_per_ha, tank_ml=Decimal(tank_ml))
    mix_ml = int((area_m2 * l_per_ha / 10).to_integral_value(ROUND_CEILING))
    full, last_ml = divmod(mix_ml, tank_ml)
    return Refills(mix_ml, full, last_ml)


def tank_covers_m2(tank_ml: int, l_per_ha: Decimal) -> Decimal:
    """Square metres that one tank covers.

    >>> tank_covers_m2(16_000, Decimal(200))
    Decimal('800')
    """
    positive(tank_ml=Decimal(tank_ml), l_per_ha=l_per_ha)
    return tank_ml * 10 / l_per_ha


def dose_per_tank(dose_per_ha: Decimal, l_per_ha: Decimal, tank_ml: int) -> Decimal:
    """What goes into one tank of something dosed per hectare, in the dose's own unit.

    Source: IRRI Rice Knowledge Bank, product required = rate x area.
    """
    positive(dose_per_ha=dose_per_ha)
    return dose_per_ha * tank_covers_m2(tank_ml, l_per_ha) / HECTARE_M2


def worn(readings_ml: Sequence[Decimal]) -> tuple[int, ...]:
    """Which nozzles (from 0) are more than a tenth off the mean of all.

    Raises:
        AmountError: a reading is zero or negative, or there is none.

    >>> worn([Decimal(500), Decimal(490), Decimal(620)])
    (2,)
    """
    mean = _mean("readings_ml", readings_ml)
    return tuple(
        n for n, each in enumerate(readings_ml) if abs(each - mean) * 100 > mean * WORN_PERCENT
    )


def is_worn(flow: Decimal, new_flow: Decimal) -> bool:
    """Whether one nozzle gives over a tenth more or less than it did when new."""
    positive(flow=flow, new_flow=new_flow)
    return abs(flow - new_flow) * 100 > new_flow * WORN_PERCENT


@dataclass(frozen=True, slots=True)
class Volume:
    """The usual litres a hectare for a crop up to so many centimetres tall (None: taller)."""

    up_to_cm: int | None
    low_l_per_ha: int
    high_l_per_ha: int


KNAPSACK_VOLUMES: tuple[Volume, ...] = (
    Volume(30, 150, 250),
    Volume(60, 200, 350),
    Volume(100, 300, 500),
    Volume(150, 400, 600),
    Volume(None, 500, 1000),
)
"""By hand with a hydraulic knapsack: the whole span 250-600 L/ha is seen (agricultureinindia.net);
its division by height, and the lowest and highest rows, are from memory."""


def volume_for(height_cm: Decimal) -> Volume:
    """The usual volume for a crop of this height.

    Raises:
        AmountError: the height is zero or negative.

    >>> volume_for(Decimal(80))
    Volume(up_to_cm=100, low_l_per_ha=300, high_l_per_ha=500)
    """
    positive(height_cm=height_cm)
    return next(
        each for each in KNAPSACK_VOLUMES if each.up_to_cm is None or height_cm <= each.up_to_cm
    )


def volume_class(l_per_ha: Decimal, *, trees: bool = False) -> str:
    """The class of a volume: high, medium, low, very_low or ultra_low.

    Source: dropdata.org definitions, after Matthews, Pesticide Application Methods. A value on a
    boundary belongs to the higher class, but high only begins above its own.

    >>> volume_class(Decimal(300)), volume_class(Decimal(300), trees=True)
    ('medium', 'low')
    """
    positive(l_per_ha=l_per_ha)
    bounds = (1000, 500, 200, 50) if trees else (600, 200, 50, 5)
    names = ("high", "medium", "low", "very_low")
    for bound, name in zip(bounds, names, strict=True):
        if l_per_ha > bound or (l_per_ha == bound and name != "high"):
            return name
    return "ultra_low"


def _mean(field: str, values: Sequence[Decimal]) -> Decimal:
    if not values:
        raise AmountError(field, "zero")
    for value in values:
        positive(**{field: value})
    return sum(values, Decimal(0)) / len(values)
