"""The table of the four worlds: `python -m tests.benchmarks.readiness [seeds] [first seed]`."""

from __future__ import annotations

import sys
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from functools import partial

from tests.benchmarks.readiness.methods import Fixed, Method, Oracle, degree_days, ours
from tests.benchmarks.readiness.trial import Told, play, summary
from tests.benchmarks.readiness.worlds import WORLDS

METHODS: dict[str, Callable[[], Method]] = {
    "fixed day 5 to 7": Fixed,
    "fixed, told unasked": partial(Fixed, 0.3),
    "degree-days, learning": degree_days,
    "ours, model alone": partial(ours, practice=False),
    "ours": ours,
    "ours, told unasked": partial(ours, volunteers=0.3),
    "oracle": Oracle,
}


def say(line: str) -> None:
    """One line, at once."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def one(task: tuple[str, str, int]) -> list[Told]:
    """One season of one method in one world."""
    name, world, seed = task
    return play(METHODS[name](), world, seed)


def main() -> None:
    """Print the table."""
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 1000
    say(f"seeds {first}-{first + seeds - 1}, 30 groups x 12 batches, from the 5th batch on")
    say(f"worlds: {' / '.join(WORLDS)}")
    heads = ("crps_days", "covered", "in_vain", "asked", "late_days", "width_days")
    say(f"{'method':24}" + "".join(f"{head:>28}" for head in heads))
    with ProcessPoolExecutor(2) as pool:
        for name in METHODS:
            found = []
            for world in WORLDS:
                tasks = [(name, world, seed) for seed in range(first, first + seeds)]
                found.append(summary([told for run in pool.map(one, tasks) for told in run]))
            cells = (
                "/".join(
                    f"{row[head] * 100:.0f}%" if head == "covered" else f"{row[head]:.2f}"
                    for row in found
                )
                for head in heads
            )
            say(f"{name:24}" + "".join(f"{cell:>28}" for cell in cells))


if __name__ == "__main__":
    main()
