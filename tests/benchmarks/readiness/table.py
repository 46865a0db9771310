"""Methods side by side in the four worlds, a row each."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Mapping
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from itertools import chain

from tests.benchmarks.readiness.methods import Method
from tests.benchmarks.readiness.trial import Told, play, summary
from tests.benchmarks.readiness.worlds import WORLDS

HEADS = {
    "covered": "80 % covers, %",
    "crps_days": "CRPS, d",
    "in_vain": "in vain a batch",
    "asked": "asked a batch",
    "late_days": "days late",
    "width_days": "80 % wide, d",
}


def one(make: Callable[[], Method], world: str, seed: int) -> list[Told]:
    """One season of one method in one world."""
    return play(make(), world, seed)


def table(methods: Mapping[str, Callable[[], Method]], seeds: Iterable[int]) -> None:
    """Print a row for each method: its figures in each world, over these seasons."""
    seeds = list(seeds)
    _say(f"seeds {seeds[0]}-{seeds[-1]}, 30 groups x 12 batches, from the 5th batch on")
    _say(f"worlds: {' / '.join(WORLDS)}")
    _say("| method | " + " | ".join(HEADS.values()) + " |")
    _say("|---" * (len(HEADS) + 1) + "|")
    with ProcessPoolExecutor(2) as pool:
        for name, make in methods.items():
            worlds = []
            for world in WORLDS:
                runs = pool.map(partial(one, make, world), seeds, chunksize=5)
                worlds.append(summary(list(chain.from_iterable(runs))))
            cells = ("/".join(_cell(head, world[head]) for world in worlds) for head in HEADS)
            _say(f"| {name} | " + " | ".join(cells) + " |")


def _cell(head: str, value: float) -> str:
    return f"{value * 100:.0f}" if head == "covered" else f"{value:.2f}".removeprefix("0")


def _say(line: str) -> None:
    """One line, at once."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()
