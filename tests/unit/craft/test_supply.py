from __future__ import annotations

import itertools
from collections import Counter
from datetime import date, timedelta
from functools import partial

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.craft.brew_case import Prices
from bot.craft.spray_days import Crew, Hand, Sprayer
from bot.craft.supply import Culture, InHand, Round, Supply, Vessel, supply

TODAY = date(2026, 3, 1)
planned = partial(supply, steps=400)
WARM = Culture((6,) * 60, (7,) * 60)


def day(n: int) -> date:
    return TODAY + timedelta(days=n)


def round_of(
    n: int, *, tanks: int = 2, sway: int = 2, name: str = "", member: str = "m1", own: str = ""
) -> Round:
    return Round(
        name or f"r{n}",
        member,
        day(n - sway),
        day(n),
        day(n + sway),
        tanks,
        tanks * 4_000,
        tanks * 16_000,
        own,
    )


def barrel(name: str = "B1", litres: int = 100, free: int = 0) -> Vessel:
    return Vessel(name, litres * 1000, day(free))


def test_a_barrel_is_started_in_time_and_as_full_as_it_is_needed() -> None:
    plan = planned(TODAY, [round_of(20)], [barrel()], WARM)
    (start,) = plan.starts
    assert start.ready_on <= day(20) <= start.use_by_on
    assert start.barrel_id == "B1"
    # 8 L and a tenth to spare, in whole litres, upward; a tenth of that is starter.
    assert (start.fill_ml, start.kept_ml, start.fresh_ml) == (9_000, 0, 900)
    (spray,) = plan.sprays
    assert (spray.on, spray.tanks, spray.culture_ml, spray.water_ml) == (day(20), 2, 8_000, 24_000)
    assert plan.shortages == ()
    assert plan.one_barrel


def test_the_starter_of_a_later_batch_is_kept_back_from_an_earlier_one() -> None:
    rounds = [round_of(n, tanks=20) for n in (10, 20, 30, 40)]
    plan = planned(TODAY, rounds, [barrel()], WARM)
    assert plan.shortages == ()
    first, *later = plan.starts
    assert first.kept_ml == 0
    assert all(start.kept_ml > 0 and start.fresh_ml == 0 for start in later)


def test_what_is_in_hand_is_used_before_anything_is_brewed() -> None:
    in_hand = [InHand("b", day(-3), 10_000)]
    plan = planned(TODAY, [round_of(5)], [barrel()], WARM, in_hand=in_hand)
    assert plan.starts == ()
    assert len(plan.sprays) == 1


def test_a_round_is_filled_from_two_batches_on_a_day_when_both_are_there() -> None:
    in_hand = [InHand("a", day(-2), 5_000), InHand("b", day(11), 5_000)]
    plan = planned(TODAY, [round_of(10)], [], WARM, in_hand=in_hand)
    assert [(spray.on, spray.tanks) for spray in plan.sprays] == [(day(11), 2)]
    assert not plan.one_barrel


def test_a_spoilt_batch_is_made_good_when_the_plan_is_made_anew() -> None:
    rounds = [round_of(n, tanks=20) for n in (10, 20, 30)]
    before = planned(TODAY, rounds, [barrel("B1"), barrel("B2")], WARM)
    assert before.shortages == ()
    # The batch that was ready on day 10 is found spoilt: nothing is in hand, nothing is kept back.
    after = planned(day(8), rounds[1:], [barrel("B1", free=9), barrel("B2", free=9)], WARM)
    assert after.shortages == ()
    assert after.starts[0].fresh_ml > 0
    assert all(start.on >= day(9) for start in after.starts)


def test_a_shortage_names_the_day_the_litres_whose_it_is_and_the_choices() -> None:
    rounds = [round_of(6, tanks=15), round_of(7, tanks=15, name="r2", member="m2"), round_of(30)]
    plan = planned(TODAY, rounds, [barrel()], WARM)
    (short,) = plan.shortages
    assert (short.round_id, short.member_id, short.lacks) == ("r6", "m1", "culture")
    assert short.on == day(6)
    assert (short.tanks, short.culture_ml, short.water_ml) == (7, 28_000, 84_000)
    assert short.less_percent == 76
    assert short.move_to is not None
    assert short.move_to > day(9)


def test_without_any_barrel_everything_is_short_and_no_day_is_offered() -> None:
    plan = planned(TODAY, [round_of(10)], [], WARM)
    (short,) = plan.shortages
    assert (short.less_percent, short.move_to, short.tanks) == (0, None, 2)
    assert plan.held_on is None


def test_a_lack_of_hands_names_the_first_day_with_room() -> None:
    crew = Crew(hands=(Hand("m1", 2, frozenset({13, 14})),), sprayers=(Sprayer("s", "m1", 2),))
    in_hand = [InHand("b", day(-1), 90_000)]
    rounds = [round_of(10, tanks=11), round_of(15, tanks=2, sway=0, name="r2")]
    plan = planned(TODAY, rounds, [], WARM, in_hand=in_hand, crew=crew)
    (short,) = plan.shortages
    assert (short.lacks, short.tanks, short.move_to) == ("hands", 1, day(16))
    never = Crew(water_ml_a_day=1_000)
    plan = planned(TODAY, rounds[:1], [], WARM, in_hand=in_hand, crew=never)
    assert (plan.shortages[0].lacks, plan.shortages[0].move_to) == ("water", None)


def test_culture_is_there_before_the_last_hands_are_busy() -> None:
    """Two rounds of one window and hands for one a day: not both can wait for the last day."""
    crew = Crew(hands=(Hand("m1", 4),))
    rounds = [round_of(8, tanks=4, sway=1, name=f"r{n}") for n in range(3)]
    plan = planned(TODAY, rounds, [barrel()], WARM, crew=crew)
    assert plan.shortages == ()
    assert {spray.on for spray in plan.sprays} == {day(7), day(8), day(9)}
    assert plan.starts[0].ready_on <= day(7)


def test_with_no_room_in_cans_a_barrel_is_not_emptied_before_its_culture_is_used() -> None:
    rounds = [round_of(n, tanks=10, sway=0) for n in (10, 19, 28, 37)]
    free = planned(TODAY, rounds, [barrel(litres=90)], WARM)
    tight = Culture(WARM.ready_days, WARM.busy_days, held_ml=0)
    held = planned(TODAY, rounds, [barrel(litres=90)], tight)
    assert held.shortages == ()
    assert held.held_ml == 0
    assert held.held_on is None
    assert free.shortages == ()


def test_culture_in_cans_is_counted_when_a_barrel_is_needed_again() -> None:
    rounds = [round_of(18, tanks=10, sway=0), round_of(20, tanks=20, sway=0, name="r2")]
    plan = planned(TODAY, rounds, [barrel(litres=90)], WARM)
    assert plan.shortages == ()
    assert plan.held_ml > 0
    assert plan.held_on is not None
    assert TODAY < plan.held_on <= day(20)


def test_overdue_rounds_are_due_today_and_those_past_the_plan_are_left_out() -> None:
    in_hand = [InHand("b", day(-1), 90_000)]
    overdue = Round("r1", "m1", day(-9), day(-5), day(3), 1, 4_000, 16_000)
    gone = Round("r2", "m1", day(-9), day(-5), day(-1), 1, 4_000, 16_000)
    far = round_of(80)
    edge = round_of(59)
    plan = planned(TODAY, [overdue, gone, far, edge], [barrel()], WARM, in_hand=in_hand)
    assert {spray.round_id: spray.on for spray in plan.sprays} == {"r1": TODAY, "r59": day(59)}


def test_fills_and_rounds_share_the_well() -> None:
    crew = Crew(water_ml_a_day=60_000)
    rounds = [round_of(12, tanks=4), round_of(14, tanks=4, name="r2"), round_of(24, tanks=4)]
    plan = planned(TODAY, rounds, [barrel("B1"), barrel("B2")], WARM, crew=crew)
    assert plan.shortages == ()
    check_water(plan, 60_000)


def test_nothing_wanted_is_nothing_to_do() -> None:
    assert planned(TODAY, [], [barrel()], WARM) == Supply((), (), (), 0, None, one_barrel=True)


def test_a_plan_of_no_days_is_empty() -> None:
    assert planned(TODAY, [round_of(10)], [], Culture((), ())).sprays == ()


def test_the_same_givens_give_the_same_plan() -> None:
    rounds = [round_of(n, tanks=9) for n in (10, 14, 19, 26)]
    vessels = [barrel("B1"), barrel("B2", 50)]
    assert planned(TODAY, rounds, vessels, WARM, seed=4) == planned(
        TODAY, rounds, vessels, WARM, seed=4
    )


def test_days_that_do_not_match_are_refused() -> None:
    with pytest.raises(ValueError, match="every day"):
        planned(TODAY, [], [barrel()], Culture((5, 5), (6,)))


def test_dear_stirring_is_an_operators_choice() -> None:
    dear = Culture(WARM.ready_days, WARM.busy_days, prices=Prices(stir_a_day=100.0))
    assert planned(TODAY, [round_of(20)], [barrel()], dear).starts == ()


def check_water(plan: Supply, most: int) -> None:
    water = Counter[date]()
    for start in plan.starts:
        water[start.on] += start.fill_ml - start.kept_ml - start.fresh_ml
    for spray in plan.sprays:
        water[spray.on] += spray.water_ml
    assert max(water.values(), default=0) <= most


@settings(max_examples=40, deadline=None)
@given(
    wanted=st.lists(
        st.tuples(st.integers(2, 55), st.integers(1, 12), st.integers(0, 3), st.integers(0, 2)),
        max_size=8,
    ),
    barrels=st.lists(st.tuples(st.integers(20, 200), st.integers(0, 12)), max_size=3),
    in_hand=st.lists(st.tuples(st.integers(-10, 5), st.integers(1, 60_000)), max_size=2),
    hands=st.lists(st.integers(1, 10), max_size=3),
    sprayers=st.lists(st.integers(1, 10), max_size=3),
    water=st.none() | st.integers(20_000, 300_000),
    held_ml=st.none() | st.integers(0, 50_000),
)
def test_labour_sprayers_water_and_culture_are_respected(
    wanted: list[tuple[int, int, int, int]],
    barrels: list[tuple[int, int]],
    in_hand: list[tuple[int, int]],
    hands: list[int],
    sprayers: list[int],
    water: int | None,
    held_ml: int | None,
) -> None:
    rounds = [
        round_of(at, tanks=tanks, sway=sway, name=f"r{n}", member=f"m{who}", own=f"s{who}")
        for n, (at, tanks, sway, who) in enumerate(wanted)
    ]
    vessels = [barrel(f"B{n}", litres, free) for n, (litres, free) in enumerate(barrels)]
    batches = [InHand(f"b{n}", day(ready), ml) for n, (ready, ml) in enumerate(in_hand)]
    crew = Crew(
        tuple(Hand(f"m{n}", most) for n, most in enumerate(hands)),
        tuple(Sprayer(f"s{n}", f"m{n}", most) for n, most in enumerate(sprayers)),
        water,
    )
    culture = Culture(WARM.ready_days, WARM.busy_days, held_ml=held_ml)
    plan = planned(TODAY, rounds, vessels, culture, in_hand=batches, crew=crew, steps=60)
    of_hand, of_sprayer, tanks = Counter[object](), Counter[object](), Counter[str]()
    for spray in plan.sprays:
        of_hand[spray.hand_id, spray.on] += spray.tanks
        of_sprayer[spray.sprayer_id, spray.on] += spray.tanks
        tanks[spray.round_id] += spray.tanks
    for n, most in enumerate(hands):
        assert all(of_hand[f"m{n}", day(d)] <= most for d in range(60))
    for n, most in enumerate(sprayers):
        assert all(of_sprayer[f"s{n}", day(d)] <= most for d in range(60))
    if water is not None:
        check_water(plan, water)
    for short in plan.shortages:
        tanks[short.round_id] += short.tanks
        assert short.move_to is None or short.move_to > short.on
    assert tanks == Counter({each.id: each.tanks for each in rounds})
    check_barrels(plan, vessels)
    check_culture(plan, batches)


def check_barrels(plan: Supply, vessels: list[Vessel]) -> None:
    for vessel in vessels:
        starts = sorted(s.on for s in plan.starts if s.barrel_id == vessel.id)
        assert all(on >= vessel.free_on for on in starts)
        gaps = [(b - a).days for a, b in itertools.pairwise(starts)]
        assert all(gap >= WARM.busy_days[0] for gap in gaps)
        fills = [s.fill_ml for s in plan.starts if s.barrel_id == vessel.id]
        assert all(0 < ml <= vessel.ml for ml in fills)


def check_culture(plan: Supply, in_hand: list[InHand]) -> None:
    """On no day has more been sprayed than what had become ready by then."""
    drawn = ready = 0
    for n in range(60):
        drawn += sum(spray.culture_ml for spray in plan.sprays if spray.on == day(n))
        ready = sum(batch.ml for batch in in_hand if batch.ready_on <= day(n))
        ready += sum(start.fill_ml for start in plan.starts if start.ready_on <= day(n))
        assert drawn <= ready + 100  # shares of a lot are rounded up to the millilitre
