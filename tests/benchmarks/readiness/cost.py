"""What a forecast and an update cost: `python -m tests.benchmarks.readiness.cost`.

Processor time, in one run, over two floors: understanding one message, which every exchange pays
anyway, and the least there is, two quantiles of a normal distribution. Waiting for a disk is left
out, so that what else runs on the machine matters little.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from random import Random
from statistics import NormalDist, median
from time import process_time

from bot.craft import readiness
from bot.craft.learning import Evidence, Outcome, Pool, evidence_of, leaning
from bot.craft.learning_cache import restored, stored
from bot.craft.readiness import Window, looks
from bot.craft.ways import Start, bases, model_of
from bot.language.hearing import Hearing
from bot.language.understand import tongues, understand

WINDOW = Window(5, 7)
MODEL = model_of(5, 7)


def seconds(work: Callable[[int], object], times: int = 60) -> float:
    """The median of so many runs, each on another number."""
    taken = []
    for number in range(times):
        begun = process_time()
        work(number)
        taken.append(process_time() - begun)
    return median(taken)


def start(number: int) -> Start:
    """A start that no cache has seen."""
    return Start((24 + number / 100,), 1.8, number % 5 > 0)


def history(groups: int, batches: int) -> list[list[Outcome]]:
    """Invented records: so many batches of so many groups."""
    rng = Random(7)
    found: list[list[Outcome]] = []
    for _ in range(groups):
        record = []
        for number in range(batches):
            day = rng.choice([5.0, 6.0, 7.0])
            record.append(Outcome(Start((rng.gauss(26, 3),), 1.8, number % 5 > 0), day - 1, day))
        found.append(record)
    return found


def main() -> None:
    """Print the table."""
    records = history(30, 12)
    groups = [readiness.learned(WINDOW, record) for record in records]
    pool = readiness.shared(WINDOW, groups)
    own = groups[0]

    def new_batch(number: int) -> Evidence:
        return own + readiness.learned_from(WINDOW, Outcome(start(number + 1000), 5, 6))

    fresh = [new_batch(number + 100) for number in range(60)]
    cache = stored(MODEL, pool)
    forecast = readiness.forecast(WINDOW, start(0), own, pool)

    def told(number: int) -> object:
        bases.cache_clear()
        evidence_of.cache_clear()
        return readiness.learned_from(WINDOW, Outcome(start(number), 5, 6))

    def rebuilt(number: int) -> object:
        bases.cache_clear()
        evidence_of.cache_clear()
        return readiness.learned(WINDOW, records[number % 30])

    def foretold(number: int, mine: Evidence | None, everyone: Pool | None) -> object:
        bases.cache_clear()
        return readiness.forecast(WINDOW, start(number), mine, everyone)

    heard = tongues()
    hearing = Hearing(datetime(2026, 3, 2, 9, tzinfo=UTC), language="en")

    def understood(number: int) -> object:
        return understand(f"b{number + 1} ready since wednesday", heard, hearing)

    understood(100)
    floor = seconds(understood)

    def two_quantiles(number: int) -> object:
        normal = NormalDist(1.7 + number / 1000, 0.3)
        return math.exp(normal.inv_cdf(0.1)), math.exp(normal.inv_cdf(0.9))

    rows = {
        "floor: one message understood": floor,
        "floor: two normal quantiles": seconds(two_quantiles),
        "forecast, nothing learned": seconds(lambda n: foretold(n, None, None)),
        "forecast, 30 groups x 12 batches": seconds(lambda n: foretold(n, own, pool)),
        "median, interval and looks": seconds(
            lambda _: (forecast.median_days, forecast.interval_days(), looks(forecast, WINDOW, own))
        ),
        "update: one outcome": seconds(told),
        "update: its group's leaning": seconds(lambda n: leaning(MODEL, fresh[n])),
        "rebuild a group of 12 from its record": seconds(rebuilt, 15),
        "the same, its batches seen before": seconds(
            lambda _: readiness.learned(WINDOW, records[0]), 15
        ),
        "pool out of its cache": seconds(lambda _: restored(MODEL, Pool, cache), 15),
    }
    quantiles = rows["floor: two normal quantiles"]
    sys.stdout.write(f"{'':40}{'us':>10}{'x message':>10}{'x quantiles':>12}\n")
    for name, took in rows.items():
        line = f"{name:40}{took * 1e6:10.0f}{took / floor:10.2f}{took / quantiles:12.0f}\n"
        sys.stdout.write(line)
    size = len(str(cache)), len(str(stored(MODEL, own)))
    sys.stdout.write(f"cached: pool {size[0]} characters, group {size[1]} characters\n")


if __name__ == "__main__":
    main()
