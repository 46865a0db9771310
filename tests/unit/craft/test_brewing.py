from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.craft.brew_case import Case, Prices, Running, Size, Want
from bot.craft.brew_flow import allocate, cheapest, worth
from bot.craft.brew_held import held, over_held
from bot.craft.brew_rows import Barrel, backward, barrels_of, dense, placed
from bot.craft.brew_search import brewing, cost_of


def case(
    *wants: Want,
    days: int = 40,
    barrels: int = 1,
    running: tuple[Running, ...] = (),
    share: float = 0.10,
    held_litres: float | None = None,
    free_from: int = 0,
) -> Case:
    return Case(
        days=days,
        ready_days=(5,) * days,
        busy_days=(6,) * days,
        shelf_days=15,
        keep_share=share,
        sizes=(Size(100.0, 3.0, (free_from,) * barrels),),
        wants=wants,
        running=running,
        held_litres=held_litres,
    )


def room(days: int, **litres: float) -> list[float]:
    return [litres.get(f"d{day}", 0.0) for day in range(days)]


def test_a_batch_that_starts_later_is_never_ready_sooner() -> None:
    warming = Case(3, (9, 5, 5), (9, 5, 5), 15, 0.1, (), ())
    assert warming.ready == (9, 9, 9)
    assert warming.last == -1


def test_the_freshest_batch_serves_the_latest_want() -> None:
    flow = allocate(case(Want(10, 10, 60), Want(20, 20, 60)), room(40, d5=100, d15=100))
    assert flow.parts == [(15, 1, 60), (5, 0, 60)]
    assert flow.kept == [(5, 15, 6.0)]
    assert (flow.made[5], flow.made[15]) == (66, 60)
    assert flow.fresh == pytest.approx(6.6)
    assert flow.unmet == 0
    assert flow.aged == 30  # the starter waited five days


def test_a_want_that_no_batch_reaches_is_unmet() -> None:
    flow = allocate(case(Want(2, 3, 7), Want(10, 10, 5), Want(35, 36, 9)), room(40, d5=100))
    assert flow.unmet == 16
    assert sorted(flow.short) == [(0, 7), (2, 9)]


def test_a_want_left_over_when_all_batches_are_empty_is_unmet() -> None:
    flow = allocate(case(Want(10, 12, 130)), room(40, d5=100))
    assert flow.short == [(0, 30)]


def test_a_starter_that_no_batch_can_give_is_fresh() -> None:
    tired = case(Want(10, 10, 20), Want(38, 38, 50), share=0.2)
    flow = allocate(tired, room(40, d5=100, d31=100))
    assert flow.fresh == pytest.approx(0.2 * 50 + 0.2 * 20)
    assert flow.kept == []


def test_many_barrels_are_searched_from_the_better_beginning_alone() -> None:
    plan = case(*(Want(day, day + 2, 300.0) for day in (8, 14, 20, 26)), barrels=12)
    best = brewing(plan, steps=50)
    assert best.flow.unmet == 0
    assert len(best.rows) == 12


def test_starters_give_way_to_members_where_wants_go_short() -> None:
    short = case(Want(10, 10, 100), Want(16, 16, 100))
    cost, flow = cheapest(short, room(40, d4=100, d11=100))
    assert flow.unmet == 0
    assert flow.fresh == 20
    assert cost == pytest.approx(worth(short, flow))


def test_starters_last_take_what_members_left() -> None:
    flow = allocate(
        case(Want(10, 10, 60), Want(20, 20, 60), running=(Running(-2, 4.0),)),
        room(40, d5=100, d15=100),
        starters_last=True,
    )
    assert flow.kept == [(5, 15, 6.0), (-1, 5, 4.0)]
    assert flow.drawn == [4.0]
    assert flow.fresh == pytest.approx(2.6)


def test_culture_in_hand_trims_the_batches_that_would_waste_it() -> None:
    thrifty = case(Want(8, 14, 101), running=(Running(5, 69.0),), share=0.2)
    _, flow = cheapest(thrifty, room(40, d8=60))
    assert flow.made[8] == pytest.approx(40, abs=0.2)
    assert flow.drawn == [pytest.approx(69, abs=0.2)]


def test_culture_in_hand_that_reaches_no_want_trims_nothing() -> None:
    far = case(Want(30, 30, 50), running=(Running(0, 69.0),))
    _, flow = cheapest(far, room(40, d25=100))
    assert flow.made[25] == 50


def test_neighbours_are_pushed_apart_and_out_of_the_plan() -> None:
    plan = case()
    assert placed(plan, 0, (0, 12, 20), 13) == (0, 7, 13, 20)
    assert placed(plan, 0, (0, 6, 34), 9) == (3, 9, 34)
    assert placed(plan, 2, (3, 30), 6) == (6, 30)
    assert placed(plan, 0, (30, 36), 33) == (27, 33, 39)
    assert placed(plan, 0, (36,), 35) == (35,)
    assert placed(plan, 4, (), 3) == ()
    assert placed(plan, 0, (5,), 40) == (5,)


def test_dense_barrels_begin_staggered() -> None:
    rows = dense(case(Want(0, 30, 1.0), barrels=2), [Barrel(0, 0), Barrel(0, 0)])
    assert rows == [(0, 6, 12, 18, 24), (3, 9, 15, 21)]


def test_backward_starts_what_serves_most() -> None:
    plan = case(Want(10, 10, 60), Want(12, 12, 30), Want(20, 20, 60), Want(2, 2, 5))
    assert backward(plan, barrels_of(plan)) == [(1, 7)]


def test_backward_takes_a_second_barrel_where_the_first_is_busy() -> None:
    plan = case(Want(10, 10, 150), barrels=2)
    assert backward(plan, barrels_of(plan)) == [(5,), (5,)]


def test_no_barrel_is_a_plan_without_starts() -> None:
    plan = brewing(case(Want(10, 10, 60), barrels=0))
    assert plan.rows == ()
    assert plan.flow.unmet == 60


def test_one_more_step_of_search_never_costs_more() -> None:
    plan = case(*(Want(day, day + 2, 60.0) for day in range(8, 36, 7)), barrels=2)
    costs = [brewing(plan, steps=steps).cost for steps in (1, 200, 800)]
    assert costs[0] >= costs[-1]
    best = brewing(plan, steps=200)
    assert cost_of(plan, best.rows) == pytest.approx(best.cost)


def test_a_barrel_in_use_is_not_started() -> None:
    plan = brewing(case(Want(20, 20, 60), free_from=11), steps=300)
    assert plan.rows == ((15,),) or plan.rows[0][0] >= 11


def test_cans_hold_what_is_left_when_a_barrel_is_needed_again() -> None:
    plan = case(Want(10, 10, 50), Want(14, 14, 30), Want(20, 20, 60))
    rows = [(4, 12)]
    flow = allocate(plan, room(40, d4=100, d12=100))
    in_cans = held(plan, barrels_of(plan), rows, flow)
    assert in_cans[11] == 0
    assert in_cans[12] == pytest.approx(30)
    assert in_cans[14] == 0
    tight = case(*plan.wants, held_litres=10.0)
    assert over_held(tight, barrels_of(tight), rows, flow) == pytest.approx(2 * 20 * 0.10)


def test_of_two_barrels_the_one_needed_first_gives_first() -> None:
    plan = case(Want(10, 10, 100), Want(16, 16, 50), Want(20, 20, 10), barrels=2)
    rows = [(4, 12), (4,)]
    flow = allocate(plan, room(40, d4=200, d12=100))
    in_cans = held(plan, barrels_of(plan), rows, flow)
    assert max(in_cans) == pytest.approx(0)


def test_culture_in_hand_is_not_counted_as_drawn_from_a_barrel() -> None:
    plan = case(Want(10, 10, 20), running=(Running(2, 30.0),))
    flow = allocate(plan, room(40, d12=0))
    assert max(held(plan, barrels_of(plan), [()], flow)) == 0


def test_days_must_match() -> None:
    with pytest.raises(ValueError, match="every day"):
        Case(2, (5,), (5, 5), 10, 0.1, (), ())


def test_prices_are_a_groups_own() -> None:
    assert Prices(unmet=9.0).unmet == 9.0


@given(
    wants=st.lists(
        st.tuples(st.integers(0, 39), st.integers(0, 6), st.integers(1, 150)), max_size=10
    ),
    starts=st.dictionaries(st.integers(0, 39), st.integers(1, 300), max_size=6),
    running=st.lists(st.tuples(st.integers(-10, 8), st.integers(1, 90)), max_size=3),
    order=st.sampled_from(({}, {"starters_last": True})),
)
def test_no_litre_is_made_or_lost_on_the_way(
    wants: list[tuple[int, int, int]],
    starts: dict[int, int],
    running: list[tuple[int, int]],
    order: dict[str, bool],
) -> None:
    plan = case(
        *(Want(first, first + more, float(litres)) for first, more, litres in wants),
        running=tuple(Running(ready, float(litres)) for ready, litres in running),
    )
    litres = [float(starts.get(day, 0)) for day in range(40)]
    flow = allocate(plan, litres, **order)
    served = sum(part[2] for part in flow.parts)
    assert served + flow.unmet == pytest.approx(sum(want.litres for want in plan.wants))
    assert sum(part[1] for part in flow.short) == pytest.approx(flow.unmet)
    kept = sum(part[2] for part in flow.kept)
    assert sum(flow.made) + sum(flow.drawn) == pytest.approx(served + kept)
    assert kept + flow.fresh == pytest.approx(0.10 * sum(flow.made))
    assert all(made <= most + 1e-6 for made, most in zip(flow.made, litres, strict=True))
    assert all(
        drawn <= run.litres + 1e-6 for drawn, run in zip(flow.drawn, plan.running, strict=True)
    )
    for source, index, _ in flow.parts:
        want = plan.wants[index]
        ready = plan.ready[source] if source >= 0 else plan.running[-1 - source].ready
        assert ready <= want.latest
        assert want.earliest <= ready + plan.shelf_days
    for source, start, _ in flow.kept:
        ready = plan.ready[source] if source >= 0 else plan.running[-1 - source].ready
        assert ready <= start <= ready + plan.shelf_days
