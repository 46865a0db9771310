"""Simulated seasons: what the benchmark tables, held to on a few seeds of its own."""

from dataclasses import astuple

import pytest

from bot.craft.forecast import Forecast
from tests.benchmarks.readiness.arrays import crps
from tests.benchmarks.readiness.methods import Fixed, Learning, degree_days, ours
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
def test_in_every_world_the_interval_covers_and_the_score_is_far_better(world: str) -> None:
    """Two seasons only: how many questions are asked differs from season to season by more than
    the methods do, so that is left to the table of a hundred seasons."""
    seeds = range(2000, 2002)
    learned = summary([told for seed in seeds for told in play(ours(practice=False), world, seed)])
    fixed = summary([told for seed in seeds for told in play(Fixed(), world, seed)])
    assert 0.68 < learned["covered"] < 0.92
    assert learned["crps_days"] < 0.6 * fixed["crps_days"]
    practised = summary([told for seed in seeds for told in play(ours(), world, seed)])
    assert practised["crps_days"] < 0.7 * fixed["crps_days"]
    assert practised["asked"] <= learned["asked"] + 0.1
