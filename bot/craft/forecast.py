"""When a culture should be ready: a distribution over days, and what can be asked of it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from statistics import NormalDist

CLOSE = 1e-11
"""A day of a chance is found to so much of ln(days)."""


_BELL = NormalDist()
_ROOT_PI = math.sqrt(math.pi)


@dataclass(frozen=True)
class Forecast:
    """A mixture of log-normal durations in days from the start: (weight, mean and sd of ln days).

    Weights add up to 1. A day is counted from the moment of the start: day 5.5 is five and a
    half times 24 hours later. `not_yet_days` is a day on which it was seen not to be ready; 0 if
    nobody looked.

    >>> one = Forecast(((1.0, math.log(6), 0.25),))
    >>> round(one.median_days, 2), [round(day, 2) for day in one.interval_days(0.8)]
    (6.0, [4.36, 8.27])
    >>> round(one.chance_by(7), 2), round(one.chance_by(7, not_yet_days=6), 2)
    (0.73, 0.46)
    """

    parts: tuple[tuple[float, float, float], ...]

    @cached_property
    def log_mean(self) -> float:
        """The mean of ln(days)."""
        return math.fsum(weight * mean for weight, mean, _ in self.parts)

    @cached_property
    def log_sd(self) -> float:
        """The standard deviation of ln(days)."""
        middle = self.log_mean
        return math.sqrt(
            math.fsum(w * (sd * sd + (mean - middle) ** 2) for w, mean, sd in self.parts)
        )

    @property
    def median_days(self) -> float:
        """The day by which it is as likely ready as not."""
        return self.by_chance(0.5)

    def interval_days(self, share: float = 0.8, not_yet_days: float = 0.0) -> tuple[float, float]:
        """The days between which it becomes ready with chance `share`, as likely before as after.

        Raises:
            ValueError: `share` is not between 0 and 1.
        """
        return (
            self.by_chance((1 - share) / 2, not_yet_days),
            self.by_chance((1 + share) / 2, not_yet_days),
        )

    def chance_by(self, day: float, not_yet_days: float = 0.0) -> float:
        """The chance that it is ready by a day, given that it was not at `not_yet_days`."""
        if day <= max(not_yet_days, 0.0):
            return 0.0
        left = self._still(not_yet_days)
        return min(max(1 - self._still(day) / left, 0.0), 1.0) if left > 0 else 1.0

    def by_chance(self, chance: float, not_yet_days: float = 0.0) -> float:
        """The day by which it is ready with that chance, given that it was not at `not_yet_days`.

        Raises:
            ValueError: `chance` is not between 0 and 1.
        """
        if not 0 < chance < 1:
            raise ValueError(f"a chance of {chance} is not between 0 and 1")
        wanted = self._still(not_yet_days) * (1 - chance)
        low = min(mean - 7 * sd for _, mean, sd in self.parts)
        high = max(mean + 7 * sd for _, mean, sd in self.parts)
        if not_yet_days > 0:
            low = max(low, math.log(not_yet_days))
        # From where one bell of that mean and sd has it, by Newton's steps, and by halving
        # wherever one would leave what is left.
        at = self.log_mean - self.log_sd * _BELL.inv_cdf(wanted) if wanted > 0 else high
        at = min(max(at, low), high)
        while high - low > CLOSE:
            still, falls = self._tail(at)
            if still > wanted:
                low = at
            else:
                high = at
            step = (still - wanted) / falls if falls > 0 else math.inf
            if abs(step) < CLOSE:
                break
            at = at + step if low < at + step < high else (low + high) / 2
        return max(math.exp(at), not_yet_days)

    def turned_days(self, not_yet_days: float, ready_days: float) -> float:
        """The likeliest day it turned, knowing it was not ready on one day and ready on another.

        The mean of ln(days) between the two: for a picture of the record, never an entry in it.

        Raises:
            ValueError: it was ready before it was not.

        >>> round(Forecast(((1.0, math.log(6), 0.25),)).turned_days(5, 7), 2)
        5.93
        """
        if not 0 <= not_yet_days < ready_days:
            raise ValueError("not ready comes before ready")
        low = math.log(not_yet_days) if not_yet_days > 0 else -math.inf
        high = math.log(ready_days)
        mass = total = 0.0
        for weight, mean, sd in self.parts:
            share, middle, _ = between(mean, sd, low, high)
            mass += weight * share
            total += weight * share * middle
        if mass <= 0:
            return ready_days if self.log_mean > high else not_yet_days
        return math.exp(total / mass)

    def _still(self, day: float) -> float:
        """The chance that it is not ready by a day."""
        return self._tail(math.log(day))[0] if day > 0 else 1.0

    @cached_property
    def _scaled(self) -> tuple[tuple[float, float, float], ...]:
        root = math.sqrt(2)
        return tuple((weight, mean, 1 / (sd * root)) for weight, mean, sd in self.parts)

    def _tail(self, log_day: float) -> tuple[float, float]:
        """The chance that it is not ready by then, and how fast that falls with ln(days)."""
        still = falls = 0.0
        for weight, mean, narrow in self._scaled:
            place = (log_day - mean) * narrow
            still += weight * math.erfc(place)
            falls += weight * narrow * math.exp(-place * place)
        return still / 2, falls / _ROOT_PI


def between(mean: float, sd: float, low: float, high: float) -> tuple[float, float, float]:
    """Of a normal distribution: its mass between two values, and the mean and variance there.

    Where it has no mass to speak of, the mean is the nearer end and the variance 0.

    Source: moments of the truncated normal distribution (Johnson et al. 1994, ch. 13).

    >>> [round(value, 6) for value in between(0, 1, -1, 0.5)]
    [0.532807, -0.206631, 0.172773]
    """
    a, b = (low - mean) / sd, (high - mean) / sd
    root = math.sqrt(2)
    # From the side of the smaller tail, so that little mass is not lost in rounding.
    mass = (
        (math.erfc(a / root) - math.erfc(b / root)) / 2
        if a > 0
        else (math.erfc(-b / root) - math.erfc(-a / root)) / 2
    )
    if mass < 1e-12:
        return 0.0, low if a > 0 else high, 0.0
    at_a, at_b = _density(a), _density(b)
    shift = (at_a - at_b) / mass
    squeeze = (a * at_a if at_a else 0.0) - (b * at_b if at_b else 0.0)
    spread = 1 + squeeze / mass - shift * shift
    return mass, mean + sd * shift, sd * sd * max(spread, 0.0)


def _density(value: float) -> float:
    return math.exp(-value * value / 2) / math.sqrt(2 * math.pi)
