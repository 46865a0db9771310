"""What the trade's arithmetic costs beside the same sums written plainly, and beside pint alone.

Run: python tests/benchmarks/craft.py   (from the repository's top)
The peers round nothing to marks, check no bounds and hold no types: they are the floor.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from time import perf_counter
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

import pint

from bot.craft.making import made
from bot.craft.mixing import mix_of_tanks, parts
from bot.craft.sprayer import walked
from bot.craft.units import Quantity
from bot.recipes.reading import shipped

TIMES = 5000


def seconds(run: Callable[[], object]) -> float:
    """The best of five tries, each of many runs, for one run."""
    tries = []
    for _ in range(5):
        begun = perf_counter()
        for _ in range(TIMES // 5):
            run()
        tries.append((perf_counter() - begun) / (TIMES // 5))
    return min(tries)


def main() -> None:
    """Print each part, its floor, and their ratio."""
    mother = shipped()["mother"]
    registry: Any = pint.UnitRegistry(non_int_type=Decimal)
    acre, strength = Quantity(Decimal(3), "acre"), parts(1, 3)
    swath, course, time, caught = Decimal(1), Decimal(20), Decimal(25), Decimal(500)

    def plain_tanks() -> tuple[Decimal, ...]:
        culture = Decimal(16_000) * 1 / 4
        water = 16_000 - culture
        return culture, water, culture * 3, water * 3

    def plain_walk() -> tuple[Decimal, ...]:
        return caught * 10 / (swath * course), course * Decimal("3.6") / time, caught * 60 / time

    def plain_filling() -> tuple[Decimal, ...]:
        water = Decimal(200_000) - 20_000
        return water, water / 1000 * 10

    rows: tuple[tuple[str, Callable[[], object], str, Callable[[], object]], ...] = (
        ("3 tanks of 16 L at 1:3", lambda: mix_of_tanks(3, 16_000, strength), "plain", plain_tanks),
        (
            "a walked course",
            lambda: walked(swath, course, [time], [caught]),
            "plain",
            plain_walk,
        ),
        ("a filling of 200 L", lambda: made(mother, 200_000, 20_000), "plain", plain_filling),
        (
            "3 acres in hectares",
            lambda: acre.to("hectare"),
            "pint",
            lambda: registry.Quantity(Decimal(3), "acre").to("hectare"),
        ),
    )
    for name, ours, peer, theirs in rows:
        cost, floor = seconds(ours), seconds(theirs)
        print(f"{name}: {cost * 1e6:.1f} us; {peer}: {floor * 1e6:.1f} us; {cost / floor:.1f} x")


if __name__ == "__main__":
    main()
