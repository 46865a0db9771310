"""The ways the world may be, among which a forecast learns, and how likely each is beforehand.

ln(days) = ln(law's days) + group's offset + what a kept-back start changes + chance.

The law says how far warmth acts; the spread, how far batches of one group differ. A group's offset
lies about the centre of all groups of a kind, so what one group reports helps the next.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist

from bot.craft.growth import COOL_C, WARM_C, Law

REFERENCE_C = 27.0
"""All laws of a kind agree at this temperature, beforehand."""

# Where the unknowns are summed over. Offsets, centres and differences are of ln(days).
STEP = 0.05
OFFSETS = tuple(round(-1.0 + STEP * k, 2) for k in range(41))
CENTRES = tuple(round(-0.6 + 0.1 * k, 1) for k in range(13))
KEPT_STEPS = (-12, -9, -6, -3, 0, 3, 6, 9)

# How far groups, recipes and replies stray. Source: chosen on simulated seasons, seeds 0-7 of
# tests/benchmarks/readiness. Assumptions: that 3 replies in 100 are wrong, and that one batch in
# 20 lags behind by half.
SHARES = ((0.0, True), (0.25, True), (0.5, True), (0.8, True), (0.7, False), (1.0, False))
SHARE_SD = 0.35
SPREADS = (0.10, 0.16, 0.24)
GROUP_SD = 0.15
CENTRE_SD = 0.20
KEPT_SD = 0.25
WRONG = 0.03
LAGGING, LAG = 0.05, 1.5
SOONEST_DAYS = 0.5


@dataclass(frozen=True, slots=True)
class Start:
    """How a batch was started: the warmth of its days (the last one staying), and from what.

    `sd_c` says how far the temperature may be off; `kept` is a start from culture kept back.
    """

    temperatures_c: tuple[float, ...]
    sd_c: float
    kept: bool = False


@dataclass(frozen=True, slots=True)
class Cell:
    """One way the world may be: a law of duration, the spread of batches, and its prior weight."""

    law: Law
    spread: float
    weight: float


@dataclass(frozen=True, eq=False)
class Model:
    """The ways the world may be, for one kind of culture, and how far groups stray in them."""

    cells: tuple[Cell, ...]
    first_day: float
    group_sd: float = GROUP_SD
    centre_sd: float = CENTRE_SD
    kept_sd: float = KEPT_SD
    wrong: float = WRONG
    lagging: float = LAGGING


@lru_cache(maxsize=64)
def model_of(first_day: float, last_day: float) -> Model:
    """The model that begins from a recipe's ready window: warm on its first day, cool on its last.

    What is ready the day it is made is taken to need half a day. Where a window is wider than
    warmth can explain, groups are taken to differ by the rest, one in ten beyond each end.

    Raises:
        ValueError: the window is empty or begins before its batch.
    """
    if not 0 <= first_day <= last_day < math.inf:
        raise ValueError(f"a ready window of day {first_day} to {last_day} cannot be")
    first, last = max(first_day, SOONEST_DAYS), max(last_day, SOONEST_DAYS)
    custom = Law.of_window(first, last)
    unexplained = max(math.log(last / first * custom.days_at(WARM_C) / custom.days_at(COOL_C)), 0.0)
    days = custom.days_at(REFERENCE_C)
    likely = custom.share_at(REFERENCE_C)
    return Model(
        tuple(
            Cell(
                Law.of_share(days, share, REFERENCE_C, bent=bent),
                spread,
                math.exp(-(((share - likely) / SHARE_SD) ** 2) / 2),
            )
            for share, bent in SHARES
            for spread in SPREADS
        ),
        first_day,
        centre_sd=math.hypot(CENTRE_SD, unexplained / 2 / NormalDist().inv_cdf(0.9)),
    )


@lru_cache(maxsize=2048)
def bases(model: Model, start: Start) -> tuple[tuple[float, float], ...]:
    """For each cell, ln of its law's days, and the spread of a batch about a group's offset."""
    seen: dict[Law, tuple[float, float]] = {}
    for cell in model.cells:
        if cell.law not in seen:
            days = cell.law.days_along(start.temperatures_c)
            slope = cell.law.slope_along(start.temperatures_c, days)
            seen[cell.law] = math.log(days), slope * start.sd_c
    return tuple(
        (seen[cell.law][0], math.hypot(cell.spread, seen[cell.law][1])) for cell in model.cells
    )


@lru_cache(maxsize=64)
def priors(model: Model) -> tuple[float, ...]:
    """The log prior weight of each cell, kept-back difference and centre."""
    return tuple(
        math.log(cell.weight)
        - (kept_steps * STEP / model.kept_sd) ** 2 / 2
        - (centre / model.centre_sd) ** 2 / 2
        for cell in model.cells
        for kept_steps in KEPT_STEPS
        for centre in CENTRES
    )


@lru_cache(maxsize=8)
def kernel(group_sd: float) -> tuple[tuple[float, ...], ...]:
    """For each centre, how likely each offset of a group is; each row adds up to 1."""
    rows = []
    for centre in CENTRES:
        row = [math.exp(-(((offset - centre) / group_sd) ** 2) / 2) for offset in OFFSETS]
        whole = sum(row)
        rows.append(tuple(value / whole for value in row))
    return tuple(rows)
