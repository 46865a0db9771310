"""How temperature sets the pace of a culture: the curve, and laws of duration built on it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

# Cardinal temperatures of a mixed culture of lactic bacteria and yeasts, degrees Celsius.
# Source: within the published spread for Lactiplantibacillus plantarum, 2.0-7.8 / 34.2-36.6 /
# 41.0-41.4 (Matejčeková et al. 2019), and yeast, optimum 32.3, maximum 45.4 (Salvadó et al. 2011).
COLDEST_C, BEST_C, HOTTEST_C = 4.0, 34.0, 42.0

# What growers mean by warm and cool. Source: common practice, no source; read as the middle of
# a hot and of a cool season.
WARM_C, COOL_C = 31.0, 22.0

LEAST_PACE = 0.1
"""Past either end of the curve a culture is taken to crawl, not to stop: a forecast stays a
number, and the doubt is said in words."""


def pace(
    temperature_c: float,
    coldest_c: float = COLDEST_C,
    best_c: float = BEST_C,
    hottest_c: float = HOTTEST_C,
) -> float:
    """The rate of growth as a share of the best rate: 1 at `best_c`, 0 at and past both ends.

    Source: cardinal temperature model with inflection, Rosso et al. 1993 (J. Theor. Biol. 162:447)
    and 1995 (Appl. Environ. Microbiol. 61:610).

    >>> round(pace(22), 6), round(pace(31), 6), pace(34), pace(45)
    (0.529412, 0.947872, 1.0, 0.0)
    """
    if not coldest_c < temperature_c < hottest_c:
        return 0.0
    rise = best_c - coldest_c
    slant = rise * (temperature_c - best_c) - (best_c - hottest_c) * (
        best_c + coldest_c - 2 * temperature_c
    )
    return (temperature_c - hottest_c) * (temperature_c - coldest_c) ** 2 / (rise * slant)


def pace_unbent(temperature_c: float) -> float:
    """The rate of growth by the square-root law: no slower near the best temperature or past it.

    Where growers' cultures like heat better than the curve says, this law is the nearer one.

    Source: Ratkowsky et al. 1982 (J. Bacteriol. 149:1), which holds below the best temperature;
    past it the pace is taken to stay.

    >>> round(pace_unbent(22), 2), pace_unbent(34), pace_unbent(45), pace_unbent(3)
    (0.36, 1.0, 1.0, 0.0)
    """
    return (max(min(temperature_c, BEST_C) - COLDEST_C, 0.0) / (BEST_C - COLDEST_C)) ** 2


def beyond(temperature_c: float) -> bool:
    """Whether a culture hardly grows at that temperature, so that no forecast is worth much.

    >>> beyond(26), beyond(43), beyond(5)
    (False, True, True)
    """
    return pace(temperature_c) < LEAST_PACE


@dataclass(frozen=True, slots=True)
class Law:
    """Days to be ready: `fixed_days` that no warmth shortens, and `growing_days` at the best pace.

    `bent` says whether the pace falls again towards the hottest temperature (`pace`), or not
    (`pace_unbent`).

    >>> law = Law.of_window(5, 7)
    >>> round(law.days_at(31), 6), round(law.days_at(22), 6), round(law.days_at(26), 6)
    (5.0, 7.0, 5.740242)
    """

    fixed_days: float
    growing_days: float
    bent: bool = True

    @classmethod
    def of_window(cls, first_day: float, last_day: float) -> Law:
        """The law of a custom: ready on `first_day` where warm, on `last_day` where cool.

        Growth alone cannot make cool last longer than pace(31) / pace(22), 1.79 times warm; a
        wider window is met at its middle.
        """
        warm, cool = 1 / pace(WARM_C), 1 / pace(COOL_C)
        growing = max(last_day - first_day, 0.0) / (cool - warm)
        fixed = first_day - growing * warm
        if fixed < 0:
            return cls(0.0, math.sqrt(first_day * last_day) / math.sqrt(warm * cool))
        return cls(fixed, growing)

    @classmethod
    def of_share(cls, days: float, share: float, at_c: float, *, bent: bool = True) -> Law:
        """The law of so many days at one temperature, of which a share follows growth."""
        at_pace = pace(at_c) if bent else pace_unbent(at_c)
        return cls(days * (1 - share), days * share * max(at_pace, LEAST_PACE), bent)

    def share_at(self, temperature_c: float) -> float:
        """The share of the duration that follows growth, at a temperature: 0 to 1."""
        return 1 - self.fixed_days / self.days_at(temperature_c)

    def days_at(self, temperature_c: float) -> float:
        """Days to be ready at a temperature that stays; finite at any temperature."""
        at_pace = pace(temperature_c) if self.bent else pace_unbent(temperature_c)
        return self.fixed_days + self.growing_days / max(at_pace, LEAST_PACE)

    def days_along(self, temperatures_c: Sequence[float]) -> float:
        """Days to be ready when each day has its temperature, the last one staying.

        Each day adds 1/days_at(its temperature); ready when the sum is 1.

        >>> round(Law.of_window(5, 7).days_along([22, 24, 26, 28, 28]), 6)
        5.805604
        """
        done = 0.0
        for day, temperature_c in enumerate(temperatures_c[:-1]):
            step = 1 / self.days_at(temperature_c)
            if done + step >= 1:
                return day + (1 - done) / step
            done += step
        return len(temperatures_c) - 1 + (1 - done) * self.days_at(temperatures_c[-1])

    def slope_along(self, temperatures_c: Sequence[float], at_days: float) -> float:
        """How fast ln(days) falls with each degree more, every day alike: so 0.04 is 4 % sooner.

        `at_days` is what `days_along` gives. Taken over a degree to each side, and never 0 beyond
        the curve's ends, where the little known is not certainty.
        """
        if len(temperatures_c) == 1 or at_days <= 1:
            middle_c = min(max(temperatures_c[0], COLDEST_C + 3), HOTTEST_C - 1)
            colder, warmer = self.days_at(middle_c - 1), self.days_at(middle_c + 1)
        else:
            colder = self.days_along([value - 1 for value in temperatures_c])
            warmer = self.days_along([value + 1 for value in temperatures_c])
        return abs(math.log(colder / warmer)) / 2

    def started_from(self, share: float, sleepy: float = 0.0) -> Law:
        """The law for a start from `share` of living culture, as growth alone would have it.

        This law is taken to be that of a fresh pack: 1 part in 50, `sleepy` 2. Growth arithmetic
        does not explain the custom, so no forecast begins from this; the difference is learned.

        Source: doublings from an inoculum are log2(1 / share); pack and lag are assumptions.

        >>> round(Law.of_window(5, 7).started_from(0.1).days_at(31), 6)
        3.455199
        """
        work = (sleepy + math.log(1 / share)) / (2 + math.log(50))
        return Law(self.fixed_days, self.growing_days * work, self.bent)
