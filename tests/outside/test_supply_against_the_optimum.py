"""The supply plan against the exact optimum.

Source: HiGHS (open-source MIP solver) through highspy; the 26.10 instance is enumerated, too:
5,699 start sets, each with its exact LP over litres. Mark: computed by an independent solver.
"""

from __future__ import annotations

from itertools import combinations, pairwise

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from bot.craft.brew_case import Case, Running, Size, Want, merged
from bot.craft.brew_rows import backward, barrels_of
from bot.craft.brew_search import brewing, cost_of
from tests.benchmarks.supply.cases import season, the_proved_one
from tests.benchmarks.supply.exact import optimum

GAP = 1.03


def test_the_instance_with_a_proved_optimum_is_solved() -> None:
    plan = brewing(the_proved_one(), steps=500)
    assert plan.cost == pytest.approx(26.10)
    assert plan.rows == ((5, 15, 25),)
    assert [round(plan.flow.made[start], 6) for start in (5, 15, 25)] == [69, 90, 100]
    assert plan.flow.fresh == pytest.approx(6.9)


def test_the_solver_agrees_on_the_proved_optimum() -> None:
    best = optimum(the_proved_one())
    assert best.proved
    assert best.cost == pytest.approx(26.10)


@pytest.mark.slow
def test_no_other_start_set_of_the_proved_instance_is_cheaper() -> None:
    """Every set that could serve all four days; our own cost of it is never below 26.10."""
    case = the_proved_one()
    for number in (3, 4):
        for starts in combinations(range(case.days), number):
            apart = all(later - sooner >= 6 for sooner, later in pairwise(starts))
            served = all(any(0 <= day - s - 5 <= 15 for s in starts) for day in (10, 20, 30, 40))
            if apart and served:
                assert cost_of(case, (starts,)) >= 26.10 - 1e-6


def test_backward_alone_would_not_do() -> None:
    case = season(10, 2, days=60, load=0.95, seed=2)
    rows = tuple(backward(case, barrels_of(case)))
    assert cost_of(case, rows) > GAP * optimum(case, seconds=20).cost


def want(days: int, first: int, more: int, litres: int) -> Want:
    return Want(first, min(days - 1, first + more), float(litres))


@st.composite
def cases(draw: st.DrawFn) -> Case:
    days = draw(st.integers(15, 40))
    begin = draw(st.integers(4, 7))
    busier = draw(st.integers(0, 2))
    faster = draw(st.integers(0, 1))
    ready = tuple(begin - (faster if day > days // 2 else 0) for day in range(days))
    sizes = [
        Size(
            float(litres),
            2.0 + litres / 200,
            tuple(draw(st.lists(st.integers(0, 9), min_size=1, max_size=2))),
        )
        for litres in draw(
            st.lists(st.sampled_from((60, 120, 200)), min_size=1, max_size=2, unique=True)
        )
    ]
    wants = [
        want(days, first, *draw(st.tuples(st.integers(0, 6), st.integers(5, 150))))
        for first in draw(st.lists(st.integers(4, days - 1), min_size=1, max_size=8))
    ]
    running = [
        Running(draw(st.integers(-5, 5)), float(draw(st.integers(1, 80))))
        for _ in range(draw(st.integers(0, 2)))
    ]
    return Case(
        days=days,
        ready_days=ready,
        busy_days=tuple(each + busier for each in ready),
        shelf_days=draw(st.integers(5, 20)),
        keep_share=draw(st.sampled_from((0.0, 0.05, 0.10, 0.20))),
        sizes=tuple(sizes),
        wants=merged(wants),
        running=tuple(running),
        fill_litres=draw(st.none() | st.just((90.0,) * days)),
    )


def check(case: Case) -> None:
    best = optimum(case, seconds=20)
    plan = brewing(case)
    # A plan cannot be cheaper than what the solver proved: both speak of the same question.
    assert plan.cost >= best.bound - 1e-6 * max(1.0, best.bound)
    assert plan.cost <= GAP * best.cost + 1e-6


@settings(
    max_examples=12, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
@given(cases())
def test_small_random_cases_come_within_three_percent(case: Case) -> None:
    check(case)


@pytest.mark.slow
@settings(
    # Shrinking a miss by exact solving takes longer than all the cases.
    phases=(Phase.explicit, Phase.generate),
    max_examples=200,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)
@given(cases())
def test_two_hundred_random_cases_come_within_three_percent(case: Case) -> None:
    check(case)


@pytest.mark.slow
@pytest.mark.parametrize(("members", "barrels", "load"), [(5, 1, 0.6), (5, 1, 0.95), (10, 2, 0.95)])
def test_seasons_of_small_groups_come_within_three_percent(
    members: int, barrels: int, load: float
) -> None:
    check(season(members, barrels, days=60, load=load, seed=3))
