"""The table of the four worlds: `python -m tests.benchmarks.readiness [seeds] [first seed]`."""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import partial

from tests.benchmarks.readiness.methods import Fixed, Method, Oracle, degree_days, ours
from tests.benchmarks.readiness.table import table

METHODS: dict[str, Callable[[], Method]] = {
    "fixed day 5 to 7": Fixed,
    "fixed, told unasked": partial(Fixed, 0.3),
    "degree-days, learning": degree_days,
    "model alone, asked at .3": partial(ours, practice=False, chance=0.3),
    "model alone": partial(ours, practice=False),
    "ours": ours,
    "ours, told since when": partial(ours, dated=0.5),
    "ours, told unasked": partial(ours, volunteers=0.3),
    "oracle": Oracle,
}


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 1000
    table(METHODS, range(first, first + count))
