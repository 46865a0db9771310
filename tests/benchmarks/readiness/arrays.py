"""The bot's own sums over the grid, in numpy: the same forecasts, ten times as fast.

Seasons by the hundred are played with these. That they say what `bot.craft` says, batch for batch,
is tested in tests/unit/craft/test_readiness_seasons.py.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.special import erf, erfc

from bot.craft.forecast import Forecast
from bot.craft.foresight import LEAST_WEIGHT
from bot.craft.learning import UNIT, Outcome
from bot.craft.ways import (
    CENTRES,
    KEPT_STEPS,
    LAG,
    OFFSETS,
    STEP,
    Model,
    Start,
    bases,
    kernel,
    priors,
)

Array = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]

ROOT = math.sqrt(2)
OFFSET: Array = np.array(OFFSETS)
CENTRE: Array = np.array(CENTRES)
KEPT = np.array(KEPT_STEPS)
MOVED = np.clip(np.arange(len(OFFSETS)) + KEPT[:, None], 0, len(OFFSETS) - 1)
"""Where a kept-back batch of an offset lies among fresh ones, for each difference."""


class Grid:
    """What stays the same for a model."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.shape = len(model.cells), len(KEPT_STEPS), len(CENTRES)
        self.prior: Array = np.array(priors(model)).reshape(self.shape)
        self.kernel: Array = np.array(kernel(model.group_sd))
        self.across: Array = np.ascontiguousarray(self.kernel.T)
        self.nothing: Whole = np.zeros((len(model.cells), len(OFFSETS)), np.int64)
        self.level: Whole = np.zeros(self.shape, np.int64)

    def said(self, outcome: Outcome) -> Whole:
        """What one batch says of each cell and offset, in steps of `UNIT`."""
        model = self.model
        base, sd = np.array(bases(model, outcome.start)).T[:, :, None]
        narrow = 1 / (sd * ROOT)
        by = erfc((base + OFFSET - math.log(outcome.ready_days)) * narrow)
        if outcome.not_yet_days > 0:
            by = by - erfc((base + OFFSET - math.log(outcome.not_yet_days)) * narrow)
        true, floor = 1 - model.wrong, model.wrong / 2
        found: Whole = np.rint(np.log(true * np.maximum(by, 0) / 2 + floor) / UNIT).astype(np.int64)
        return found

    def likely(self, fresh: Whole, kept: Whole) -> tuple[Array, Array]:
        """The likelihood of each offset for each difference, the highest being 1; and its log."""
        logs = fresh[:, None, :] + kept[:, MOVED]
        top = logs.max(axis=-1, keepdims=True)
        return np.exp((logs - top) * UNIT), top * UNIT

    def leaning(self, chances: Array, top: Array) -> Whole:
        """What one group says of all groups, in steps of `UNIT`."""
        found: Whole = np.rint((np.log(chances @ self.across) + top) / UNIT).astype(np.int64)
        return found

    def foreseen(self, others: Whole, own: Whole, chances: Array | None, start: Start) -> Forecast:
        """The forecast: `own` is the group's leaning, `chances` its likelihoods if it has any."""
        before: Array = self.prior + others * UNIT
        after = before + own * UNIT
        share = np.exp(after - after.max()).sum(axis=-1)
        cells, differences = np.nonzero(share >= LEAST_WEIGHT)
        some: Array = before[cells, differences]
        weights: Array = np.exp(some - some.max(axis=-1, keepdims=True))
        if chances is None:
            weights = weights / weights.sum(axis=-1, keepdims=True)
            mean = weights @ CENTRE
            variance = weights @ CENTRE**2 - mean**2 + self.model.group_sd**2
        else:
            weights[weights <= LEAST_WEIGHT] = 0
            mass = (weights @ self.kernel) * chances[cells, differences]
            mass = mass / mass.sum(axis=-1, keepdims=True)
            mean = mass @ OFFSET
            variance = np.maximum(mass @ OFFSET**2 - mean**2, 0)
        if start.kept:
            mean = mean + KEPT[differences] * STEP
        shares = share[cells, differences]
        weight = self._by_cell(cells, shares)
        middle = self._by_cell(cells, shares * mean)
        square = self._by_cell(cells, shares * (variance + mean**2))
        there = np.nonzero(weight)[0]
        weight, middle, square = weight[there], middle[there], square[there]
        base, sd = np.array(bases(self.model, start))[there].T
        middle = middle / weight
        spread = np.sqrt(np.maximum(square / weight - middle**2, 0) + sd**2)
        middle = middle + base
        weight = weight / weight.sum()
        lagging = self.model.lagging
        prompt = tuple(
            zip((weight * (1 - lagging)).tolist(), middle.tolist(), spread.tolist(), strict=True)
        )
        if lagging <= 0:
            return Forecast(prompt)
        centre = float(weight @ middle)
        around = math.sqrt(float(weight @ (spread**2 + (middle - centre) ** 2)))
        return Forecast((*prompt, (lagging, centre + math.log(LAG), around)))

    def _by_cell(self, cells: npt.NDArray[np.intp], values: Array) -> Array:
        found: Any = np.bincount(cells, values, len(self.model.cells))
        return np.asarray(found, np.float64)


@lru_cache(maxsize=8)
def grid(model: Model) -> Grid:
    """The grid of a model, made once."""
    return Grid(model)


def crps(forecast: Forecast, days: float) -> float:
    """Continuous ranked probability score of a forecast, in days: the less the better.

    E|X - days| - E|X - X'| / 2 for X, X' of the mixture; for log-normals both have a closed form
    (the mean of the larger of two: Margrabe 1978).
    """
    weight, mean, sd = np.array(forecast.parts).T
    far = weight @ _apart(mean, sd, math.log(days), 0.0)
    among = weight @ _apart(mean, sd, mean[:, None], sd[:, None]) @ weight
    return float(far - among / 2)


def _apart(mean: Array, sd: Array, other_mean: Any, other_sd: Any) -> Array:
    """E|X - Y| of two independent log-normals."""
    spread = np.hypot(sd, other_sd)
    one, other = mean + sd * sd / 2, other_mean + other_sd * other_sd / 2
    above = (one - other + spread * spread / 2) / spread
    found: Array = np.exp(one) * erf(above / ROOT) - np.exp(other) * erf((above - spread) / ROOT)
    return found
