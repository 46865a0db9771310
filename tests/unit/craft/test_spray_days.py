from __future__ import annotations

from collections import Counter

from hypothesis import given
from hypothesis import strategies as st

from bot.craft.spray_days import Crew, Hand, Job, Lot, Portion, Sprayer, Stock, scheduled


def job(name: str = "r1", *, tanks: int = 4, on: int = 10, sway: int = 2, own: str = "s1") -> Job:
    return Job(name, "m1", on - sway, on, on + sway, tanks, tanks * 4000, tanks * 12000, own)


def days(portions: tuple[Portion, ...]) -> list[tuple[int, int]]:
    return [(portion.on, portion.tanks) for portion in portions]


def test_without_limits_each_round_stands_on_its_best_day() -> None:
    portions, undone = scheduled([job()], Crew())
    assert portions == (Portion("r1", 10, 4, 16_000, 48_000, "m1", "s1"),)
    assert undone == ()
    assert not Crew().is_limited


def test_as_late_as_it_can_be_is_the_last_day() -> None:
    assert days(scheduled([job()], Crew(), late=True)[0]) == [(12, 4)]


def test_who_must_be_done_first_chooses_first_and_the_other_moves() -> None:
    crew = Crew(hands=(Hand("m1", 4),))
    portions, undone = scheduled([job("r1"), job("r2", on=11, sway=1)], crew)
    assert {portion.job_id: portion.on for portion in portions} == {"r1": 10, "r2": 11}
    assert undone == ()


def test_a_round_too_big_for_a_day_goes_onto_several() -> None:
    crew = Crew(hands=(Hand("m1", 3),))
    portions, _ = scheduled([job(tanks=7)], crew)
    assert days(portions) == [(10, 3), (11, 3), (9, 1)]
    assert sum(portion.culture_ml for portion in portions) == 28_000
    assert sum(portion.water_ml for portion in portions) == 84_000


def test_ones_own_hands_and_sprayer_come_first_then_who_has_most_left() -> None:
    crew = Crew(
        hands=(Hand("m0", 2), Hand("m1", 2), Hand("m2", 9)),
        sprayers=(Sprayer("s0", "m0", 8), Sprayer("s1", "m1", 3)),
    )
    portions, undone = scheduled([job(tanks=8, sway=0)], crew)
    assert [(p.hand_id, p.sprayer_id, p.tanks) for p in portions] == [
        ("m1", "s1", 2),
        ("m2", "s1", 1),
        ("m2", "s0", 5),
    ]
    assert undone == ()


def test_a_member_who_is_away_does_not_spray() -> None:
    crew = Crew(hands=(Hand("m1", 9, frozenset({10})),), sprayers=(Sprayer("s1", "m1", 9),))
    assert days(scheduled([job()], crew)[0]) == [(11, 4)]


def test_what_ran_out_is_named() -> None:
    short = {
        "hands": Crew(hands=(Hand("m1", 1),)),
        "sprayer": Crew(sprayers=(Sprayer("s1", "m1", 1),)),
        "water": Crew(water_ml_a_day=13_000),
    }
    for lacks, crew in short.items():
        _, (undone,) = scheduled([job(tanks=7)], crew)
        assert (undone.lacks, undone.tanks) == (lacks, 2)
    stock = Stock({(8, 12): [Lot(9, 20, 9_000)]})
    portions, (undone,) = scheduled([job()], Crew(), stock)
    assert (undone.lacks, undone.tanks) == ("culture", 2)
    assert days(portions) == [(10, 2)]
    _, (undone,) = scheduled([job(tanks=7)], short["hands"], Stock({(8, 12): [Lot(0, 20, 99_000)]}))
    assert undone.lacks == "hands"


def test_water_that_filled_a_barrel_is_gone_for_that_day() -> None:
    crew = Crew(water_ml_a_day=50_000)
    assert days(scheduled([job()], crew, water_taken_ml=[0] * 10 + [9_000])[0]) == [(11, 4)]


def test_a_round_filled_from_two_batches_waits_until_both_are_there() -> None:
    stock = Stock({(8, 12): [Lot(3, 11, 8_000), Lot(11, 31, 8_000)]})
    portions, undone = scheduled([job()], Crew(), stock)
    assert days(portions) == [(11, 4)]
    assert undone == ()
    assert stock.on_day((8, 12), 11) == 0


def test_two_batches_that_never_meet_split_the_round() -> None:
    stock = Stock({(8, 12): [Lot(3, 9, 8_000), Lot(11, 31, 8_000)]})
    assert days(scheduled([job()], Crew(), stock)[0]) == [(11, 2), (9, 2)]


def test_a_round_of_water_alone_needs_no_culture() -> None:
    plain = Job("r1", "m1", 8, 10, 12, 2, 0, 32_000)
    assert days(scheduled([plain], Crew(), Stock())[0]) == [(10, 2)]


JOBS = st.lists(
    st.builds(
        lambda at, early, late, tanks, ml, own: (at, early, late, tanks, ml, own),
        st.integers(0, 20),
        st.integers(0, 3),
        st.integers(0, 3),
        st.integers(1, 30),
        st.integers(0, 99_999),
        st.sampled_from(("", "s0", "s1", "s2")),
    ),
    max_size=12,
)
AWAY = st.frozensets(st.integers(0, 23), max_size=8)


@given(
    wanted=JOBS,
    hands=st.lists(st.tuples(st.integers(0, 20), AWAY), max_size=3),
    sprayers=st.lists(st.tuples(st.integers(0, 20), AWAY), max_size=3),
    water=st.none() | st.integers(0, 400_000),
    taken=st.lists(st.integers(0, 100_000), max_size=20),
    lots=st.lists(
        st.tuples(st.integers(0, 20), st.integers(0, 9), st.integers(0, 99_999)), max_size=9
    ),
    with_stock=st.booleans(),
    late=st.booleans(),
)
def test_hands_sprayers_water_and_culture_are_never_overdrawn(
    wanted: list[tuple[int, int, int, int, int, str]],
    hands: list[tuple[int, frozenset[int]]],
    sprayers: list[tuple[int, frozenset[int]]],
    water: int | None,
    taken: list[int],
    lots: list[tuple[int, int, int]],
    with_stock: bool,
    late: bool,
) -> None:
    jobs = [
        Job(f"r{n}", f"m{n % 3}", max(0, at - early), at, at + after, tanks, ml, 3 * ml, own)
        for n, (at, early, after, tanks, ml, own) in enumerate(wanted)
    ]
    crew = Crew(
        tuple(Hand(f"m{n}", most, away) for n, (most, away) in enumerate(hands)),
        tuple(Sprayer(f"s{n}", f"m{n}", most, away) for n, (most, away) in enumerate(sprayers)),
        water,
    )
    stock = Stock()
    for n, (ready, keeps, ml) in enumerate(lots):
        if jobs:
            window = jobs[n % len(jobs)].window
            stock.lots.setdefault(window, []).append(Lot(ready, ready + keeps, ml))
    before = {window: sum(lot.ml for lot in some) for window, some in stock.lots.items()}
    portions, undone = scheduled(
        jobs, crew, stock if with_stock else None, water_taken_ml=taken, late=late
    )
    by_id = {each.id: each for each in jobs}
    for portion in portions:
        whose = by_id[portion.job_id]
        assert whose.earliest <= portion.on <= whose.latest
        assert portion.tanks > 0
    check_crew(crew, portions, taken)
    drawn = Counter[tuple[int, int]]()
    for portion in portions:
        drawn[by_id[portion.job_id].window] += portion.culture_ml
    for window, some in stock.lots.items():
        used = drawn[window] if with_stock else 0
        assert sum(lot.ml for lot in some) == before[window] - used
        assert all(lot.ml >= 0 for lot in some)
    done = Counter[str]()
    for each in portions:
        done[each.job_id] += each.tanks
    for missing in undone:
        done[missing.job.id] += missing.tanks
    assert done == Counter({each.id: each.tanks for each in jobs})


def check_crew(crew: Crew, portions: tuple[Portion, ...], taken: list[int]) -> None:
    of_hand, of_sprayer = Counter[tuple[str, int]](), Counter[tuple[str, int]]()
    of_water = Counter[int]()
    for portion in portions:
        of_hand[portion.hand_id, portion.on] += portion.tanks
        of_sprayer[portion.sprayer_id, portion.on] += portion.tanks
        of_water[portion.on] += portion.water_ml
    for some, used in ((crew.hands, of_hand), (crew.sprayers, of_sprayer)):
        limits = {one.id: one for one in some}
        for (who, day), tanks in used.items():
            if limits:
                assert day not in limits[who].away
                assert tanks <= limits[who].tanks_a_day
    for day, ml in of_water.items():
        before = taken[day] if day < len(taken) else 0
        # A round may want no water at all; only what is drawn counts.
        assert crew.water_ml_a_day is None or ml == 0 or ml + before <= crew.water_ml_a_day


def test_nobody_sprays_on_a_shut_day_but_a_round_without_another_keeps_its_own() -> None:
    crew = Crew(shut=frozenset({10}))
    assert days(scheduled([job()], crew)[0]) == [(11, 4)]
    assert days(scheduled([job(sway=0)], crew)[0]) == [(10, 4)]
