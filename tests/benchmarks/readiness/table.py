"""Methods side by side in the four worlds, a row each."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from statistics import fmean

from tests.benchmarks.readiness.methods import Method
from tests.benchmarks.readiness.trial import follow, summary
from tests.benchmarks.readiness.worlds import WORLDS, season

HEADS = {
    "covered": "80 % covers, %",
    "crps_days": "CRPS, d",
    "in_vain": "in vain a batch",
    "asked": "asked a batch",
    "late_days": "days late",
    "width_days": "80 % wide, d",
}
Makers = Mapping[str, Callable[[], Method]]
Means = dict[str, dict[str, float]]


def one(makers: Makers, world: str, seed: int) -> Means:
    """One season with each method, the same batches for all."""
    batches = tuple(season(world, seed))
    found = {}
    for name, make in makers.items():
        method = make()
        found[name] = summary([follow(method, batch) for batch in batches])
    return found


def table(makers: Makers, seeds: Sequence[int]) -> None:
    """Print a row for each method: its means in each world, over these seasons."""
    _say(f"seeds {seeds[0]}-{seeds[-1]}, 30 groups x 12 batches, from the 5th batch on")
    _say(f"worlds: {' / '.join(WORLDS)}")
    worlds: list[Means] = []
    with ProcessPoolExecutor(2) as pool:
        for world in WORLDS:
            seasons = list(pool.map(partial(one, makers, world), seeds, chunksize=2))
            # Every season has as many batches, so the mean of their means is the mean of all.
            worlds.append(
                {
                    name: {head: fmean(each[name][head] for each in seasons) for head in HEADS}
                    for name in makers
                }
            )
            _say(f"{world}: done")
    _say("| method | " + " | ".join(HEADS.values()) + " |")
    _say("|---" * (len(HEADS) + 1) + "|")
    for name in makers:
        cells = ("/".join(_cell(head, each[name][head]) for each in worlds) for head in HEADS)
        _say(f"| {name} | " + " | ".join(cells) + " |")


def _cell(head: str, value: float) -> str:
    return f"{value * 100:.0f}" if head == "covered" else f"{value:.2f}".removeprefix("0")


def _say(line: str) -> None:
    """One line, at once."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()
