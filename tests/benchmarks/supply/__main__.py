"""Tables of the supply plan: `python -m tests.benchmarks.supply [seconds] [seasons]`.

Gap to what the exact solver proves that no plan can beat; time beside the backward pass alone,
the floor of the same run. `seconds` is the solver's limit a case (default 60), `seasons` how many
lives a season under uncertainty has (default 40; 0 leaves them out).
"""

from __future__ import annotations

import sys
from time import perf_counter, process_time

from bot.craft.brew_rows import backward, barrels_of
from bot.craft.brew_search import brewing, cost_of
from tests.benchmarks.supply.cases import season
from tests.benchmarks.supply.exact import optimum
from tests.benchmarks.supply.luck import seasons

GROUPS = ((1, 5), (3, 25), (10, 100), (40, 500))
LOADS = (0.60, 0.95)


def gaps(seconds: float) -> None:
    """The first table."""
    sys.stdout.write(
        "barrels members load | backward gap | plan gap | cpu s | wall s | x backward | solver\n"
    )
    for barrels, members in GROUPS:
        for load in LOADS:
            case = season(members, barrels, load=load, seed=1)
            begun = process_time()
            rows = tuple(backward(case, barrels_of(case)))
            floor = process_time() - begun
            begun, wall = process_time(), perf_counter()
            plan = brewing(case)
            cpu, waited = process_time() - begun, perf_counter() - wall
            best = optimum(case, seconds=seconds)
            simple = 100 * (cost_of(case, rows) / best.bound - 1)
            gap = 100 * (plan.cost / best.bound - 1)
            solver = "optimal" if best.proved else f"{100 * (best.cost / best.bound - 1):.2f} %"
            sys.stdout.write(
                f"{barrels:7} {members:7} {load:4.2f} | {simple:10.1f} % | {gap:6.2f} % |"
                f" {cpu:5.2f} | {waited:6.2f} | {cpu / max(floor, 1e-6):10.0f} | {solver}\n"
            )
            sys.stdout.flush()


def luck(number: int) -> None:
    """The second table."""
    sys.stdout.write("barrels members load spare | served | worst twentieth | plans made anew\n")
    for barrels, members in ((1, 5), (3, 25)):
        for spare in (0.0, 0.10):
            case = season(members, barrels, days=90, load=0.60, seed=1)
            mean, worst, again = seasons(case, spare=spare, number=number, steps=500)
            sys.stdout.write(
                f"{barrels:7} {members:7} 0.60 {100 * spare:4.0f} % | {100 * mean:5.1f} % |"
                f" {100 * worst:13.1f} % | {again:.1f}\n"
            )
            sys.stdout.flush()


if __name__ == "__main__":
    gaps(float(sys.argv[1]) if len(sys.argv) > 1 else 60.0)
    lives = int(sys.argv[2]) if len(sys.argv) > 2 else 40
    if lives:
        luck(lives)
