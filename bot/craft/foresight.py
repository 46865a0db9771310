"""A group's forecast: what it and all others reported, with every unknown summed out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from operator import mul

from bot.craft.forecast import Forecast
from bot.craft.learning import UNIT, Evidence, Pool, leaning, likely
from bot.craft.ways import (
    CENTRES,
    KEPT_STEPS,
    LAG,
    OFFSETS,
    REFERENCE_C,
    STEP,
    Model,
    Start,
    bases,
    kernel,
    priors,
)

LEAST_WEIGHT = 1e-3
"""A way the world may be that is a thousand times less likely than the best is left out."""

_SQUARES = tuple(offset * offset for offset in OFFSETS)


# A barrel's forecast is asked for at each word about it, and changes with what was learned only.
@lru_cache(maxsize=64)
def foreseen(model: Model, others: Pool, own: Evidence, start: Start) -> Forecast:
    """The forecast for a batch of a group, from what it and all other groups have reported.

    `others` is the pool without this group's own leaning: `pool - leaning(model, own)`.
    """
    block = len(CENTRES)
    before = _plus(others.lean, priors(model))
    after = _plus(leaning(model, own).lean, before)
    best = max(after)
    found: list[tuple[float, float, float]] = []
    for cell, (base, sd) in enumerate(bases(model, start)):
        weight = middle = square = 0.0
        for kept, kept_steps in enumerate(KEPT_STEPS):
            at = (cell * len(KEPT_STEPS) + kept) * block
            share = sum(math.exp(value - best) for value in after[at : at + block])
            if share < LEAST_WEIGHT:
                continue
            mean, variance = _offset(model, before[at : at + block], own, cell, kept_steps)
            mean += kept_steps * STEP if start.kept else 0.0
            weight += share
            middle += share * mean
            square += share * (variance + mean * mean)
        if weight > 0:
            middle /= weight
            variance = max(square / weight - middle * middle, 0.0)
            found.append((weight, base + middle, math.sqrt(variance + sd * sd)))
    whole = math.fsum(weight for weight, _, _ in found)
    prompt = Forecast(tuple((weight / whole, mean, sd) for weight, mean, sd in found))
    if model.lagging <= 0:
        return prompt
    weights = ((weight * (1 - model.lagging), mean, sd) for weight, mean, sd in prompt.parts)
    lag = model.lagging, prompt.log_mean + math.log(LAG), prompt.log_sd
    return Forecast((*weights, lag))


def warmth_acts(model: Model, pool: Pool) -> float:
    """How much of the duration follows temperature, as learned so far: 0 to 1."""
    logs = _plus(pool.lean, priors(model))
    best = max(logs)
    per_cell = len(logs) // len(model.cells)
    weights = [
        sum(math.exp(value - best) for value in logs[at : at + per_cell])
        for at in range(0, len(logs), per_cell)
    ]
    shares = [cell.law.share_at(REFERENCE_C) for cell in model.cells]
    return math.fsum(map(mul, weights, shares)) / math.fsum(weights)


def _offset(
    model: Model, logs: Sequence[float], own: Evidence, cell: int, kept_steps: int
) -> tuple[float, float]:
    """Mean and variance of a group's offset: the centre has these log-weights."""
    top = max(logs)
    weights = [math.exp(value - top) for value in logs]
    if not own.fresh and not own.kept:
        whole = sum(weights)
        mean = sum(map(mul, weights, CENTRES)) / whole
        square = sum(w * c * c for w, c in zip(weights, CENTRES, strict=True)) / whole
        return mean, square - mean * mean + model.group_sd**2
    chances = [0.0] * len(OFFSETS)
    for weight, row in zip(weights, kernel(model.group_sd), strict=True):
        if weight > LEAST_WEIGHT:
            chances = [chance + weight * value for chance, value in zip(chances, row, strict=True)]
    chances = list(map(mul, chances, likely(own, cell, kept_steps)[0]))
    mass = sum(chances)
    mean = sum(map(mul, chances, OFFSETS)) / mass
    square = sum(map(mul, chances, _SQUARES)) / mass
    return mean, max(square - mean * mean, 0.0)


def _plus(stored: Sequence[int], logs: Sequence[float]) -> list[float]:
    """Stored log-likelihoods, if any, on top of others."""
    if not stored:
        return list(logs)
    return [value * UNIT + log for value, log in zip(stored, logs, strict=True)]
