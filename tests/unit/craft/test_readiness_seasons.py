"""Simulated seasons: what the benchmark tables, held to on a few seeds of its own."""

from collections.abc import Callable
from dataclasses import astuple
from functools import partial

import pytest

from bot.craft.forecast import Forecast
from tests.benchmarks.readiness.arrays import crps
from tests.benchmarks.readiness.methods import Fixed, Learning, Method, degree_days, ours
from tests.benchmarks.readiness.trial import follow, play, summary
from tests.benchmarks.readiness.worlds import WORLDS, season


def test_the_score_is_that_of_a_known_log_normal() -> None:
    """Source: the readiness study's check value for a new group that turns on day 6."""
    found = Forecast(((1.0, 1.747501, 0.277308),))
    assert crps(found, 6.0) == pytest.approx(0.392431, abs=1e-5)


@pytest.mark.parametrize("world", WORLDS)
def test_the_arrays_of_the_benchmark_say_what_the_bots_own_sums_say(world: str) -> None:
    for make in (ours, degree_days):
        slow, swift = make(Learning), make()
        for batch in season(world, 3000, groups=4, batches=7):
            told = astuple(follow(swift, batch))
            assert told == pytest.approx(astuple(follow(slow, batch)), abs=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize("world", WORLDS)
def test_in_every_world_ours_covers_scores_better_and_asks_less(world: str) -> None:
    """Six seasons of its own; the table has a hundred, and seasons differ."""

    def played(make: Callable[[], Method]) -> dict[str, float]:
        seasons = [play(make(), world, seed) for seed in range(2000, 2006)]
        return summary([told for one in seasons for told in one])

    fixed, ruled = played(Fixed), played(ours)
    free = played(partial(ours, practice=False))
    since = played(partial(ours, dated=0.5))
    for each in (ruled, free, since):
        assert 0.70 < each["covered"] < 0.90
        assert each["crps_days"] < 0.65 * fixed["crps_days"]
        assert each["asked"] < 1.1 * fixed["asked"]
    assert free["late_days"] < fixed["late_days"]
    # The rule costs lateness; told since when, a group's own record lifts it.
    assert free["late_days"] < since["late_days"] < ruled["late_days"]
