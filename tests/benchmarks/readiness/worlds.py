"""Invented seasons in which the truth is known, and growers who answer as growers do.

Four worlds, none of them told to any method: `growth` (each group its own growth curve), `steep`
(pure growth by a square-root law, 5 days at 31 °C), `flat` (thermal time, little effect of
temperature), `none` (no effect). Thirty groups make twelve batches each, one in five from a fresh
pack, the rest kept back. Method: findings of the readiness study, figures invented here.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from random import Random

from bot.craft.growth import pace

WORLDS = ("growth", "steep", "flat", "none")
FIXED_DAYS, BEST_GROWTH = 2.469717, 2.465002
Pace = Callable[[float, bool], float]
"""Days to be ready at a temperature, kept back or not."""


@dataclass(frozen=True)
class Batch:
    """One batch as the world has it: when it is ready, and what its growers tell."""

    group: int
    number: int
    kept: bool
    ready_days: float
    read_c: float
    talks: tuple[bool, ...]
    errs: tuple[bool, ...]
    volunteers: tuple[float, ...]


def season(world: str, seed: int, groups: int = 30, batches: int = 12) -> Iterator[Batch]:
    """The batches of a season, in the order in which they were started."""
    rng = Random(seed)
    unasked = Random(seed + 1_000_000)
    centre = rng.gauss(0, 0.12)
    places = [
        (
            _law(world, rng),
            centre + rng.gauss(0, 0.18),
            rng.gauss(25, 3),
            rng.uniform(1, 6),
            rng.uniform(0, 365),
        )
        for _ in range(groups)
    ]
    for number in range(batches):
        for group, (law, offset, mean_c, swing_c, phase) in enumerate(places):
            kept = number % 5 != 0
            first = number * 13 + rng.randrange(3)
            wander = 0.0
            air = []
            for day in range(40):
                wander = 0.7 * wander + rng.gauss(0, 1.2)
                turn = 2 * math.pi * (first + day + phase) / 365
                air.append(mean_c + swing_c * math.sin(turn) + wander)
            chance = offset + rng.gauss(0, 0.12) + (0.4 if rng.random() < 0.05 else 0)
            days = min(max(_days(law, _barrel(air), kept=kept) * math.exp(chance), 1.2), 40)
            turn = 2 * math.pi * (first + 3 + phase) / 365
            read_c = mean_c + swing_c * math.sin(turn) + rng.gauss(0, 1.5)
            yield Batch(
                group=group,
                number=number,
                kept=kept,
                ready_days=days,
                read_c=min(max(read_c, 12), 39),
                talks=tuple(rng.random() < 0.7 for _ in range(60)),
                errs=tuple(rng.random() < 0.03 for _ in range(60)),
                volunteers=tuple(unasked.random() for _ in range(60)),
            )


def _law(world: str, rng: Random) -> Pace:
    if world == "growth":
        coldest, best = rng.gauss(4, 1.5), rng.gauss(34, 1.5)
        hottest = best + rng.uniform(6, 10)
        fixed = FIXED_DAYS * math.exp(rng.gauss(0, 0.15))
        fastest = BEST_GROWTH * math.exp(rng.gauss(0, 0.15))
        sleepy, fed = max(0, rng.gauss(2, 0.7)), max(0, rng.gauss(0.2, 0.3))

        def growth(temperature_c: float, kept: bool) -> float:
            at = pace(temperature_c, coldest, best, hottest)
            work = fed + math.log(10) if kept else sleepy + math.log(50)
            return fixed + work / (fastest * at) if at > 1e-3 else 1e3

        return growth
    if world == "steep":
        return lambda t, kept: 28**2 * 5 / max(t - 3, 0.5) ** 2 * (0.6 if kept else 1)
    if world == "flat":
        return lambda t, kept: 6 * 36 / max(t + 10, 1) * (0.8 if kept else 1)
    return lambda _, kept: 6.0 * (0.8 if kept else 1)


def _barrel(air_c: Sequence[float]) -> list[float]:
    """A barrel's daily means: it follows the air with a lag of 0.6 days."""
    seen: list[float] = []
    for value in air_c:
        seen.append(value if not seen else seen[-1] + (value - seen[-1]) * (1 - math.exp(-1 / 0.6)))
    return seen


def _days(law: Pace, barrel_c: Sequence[float], *, kept: bool) -> float:
    done = 0.0
    for day in range(80):
        step = 1 / law(barrel_c[min(day, len(barrel_c) - 1)], kept)
        if done + step >= 1:
            return day + (1 - done) / step
        done += step
    return 80.0
