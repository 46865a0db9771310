from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.craft.dose import Dose, shortest_gap, taken_off
from bot.craft.entries import Entry, Head
from bot.craft.harvest import Harvest
from bot.craft.rounds import Rounds, fold

ORIGIN = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
HEAD = Head("r1", "rounds", "R1", "g1", ORIGIN)
PLAN: Mapping[str, object] = {
    "use": "leaf",
    "crop": "tomato",
    "recipe": "mother",
    "culture_parts": "1",
    "water_parts": "3",
    "mix_ml": 32_000,
    "tank_ml": 16_000,
    "interval_days": 10,
    "minimum_days": 7,
    "times": 4,
}


def iso(n: int) -> str:
    return (ORIGIN.date() + timedelta(days=n)).isoformat()


def said(day: int, kind: str, **data: object) -> Entry:
    return Entry(kind, ORIGIN + timedelta(days=day), data, "m1")


def planned(*entries: Entry, **changes: object) -> Rounds:
    return fold(HEAD, [said(0, "plan", **{**PLAN, "start_on": iso(10), **changes}), *entries])


def numbers(days: tuple[date, ...]) -> list[int]:
    return [(day - ORIGIN.date()).days for day in days]


def day(n: int) -> date:
    return ORIGIN.date() + timedelta(days=n)


def test_a_plan_lays_its_rounds_out_from_its_start() -> None:
    rounds = planned()
    assert numbers(rounds.dates) == [10, 20, 30, 40]
    assert [rounds.number(each) for each in rounds.dates] == [1, 2, 3, 4]
    assert [rounds.is_last(each) for each in rounds.dates] == [False, False, False, True]
    assert rounds.dose.culture_ml == 8_000
    assert rounds.dose.water_ml == 24_000
    assert rounds.left == 4
    assert rounds.next_on == day(10)


def test_a_subject_without_a_plan_has_no_rounds() -> None:
    assert fold(HEAD, []).dates == ()
    assert fold(HEAD, []).next_on is None


def test_an_entry_of_another_time_changes_nothing() -> None:
    assert planned(said(1, "sung")).dates == planned().dates


def test_done_sets_the_next_from_the_day_it_was_done() -> None:
    rounds = planned(said(14, "sprayed"))
    assert numbers(rounds.dates) == [24, 34, 44]
    assert rounds.number(day(24)) == 2
    assert rounds.done[0].culture_ml == 8_000
    assert rounds.done[0].member_id == "m1"


def test_done_yesterday_counts_from_yesterday() -> None:
    rounds = planned(said(15, "sprayed", on=iso(14), mix_ml=16_000, culture_ml=4_000))
    assert numbers(rounds.dates) == [24, 34, 44]
    assert (rounds.done[0].mix_ml, rounds.done[0].culture_ml) == (16_000, 4_000)


def test_the_day_of_a_report_is_that_of_the_members_own_zone() -> None:
    head = Head("r1", "rounds", "R1", "g1", ORIGIN, "Pacific/Kiritimati")
    late = Entry("sprayed", datetime(2026, 3, 11, 20, 0, tzinfo=UTC))
    rounds = fold(head, [said(0, "plan", **{**PLAN, "start_on": iso(10)}), late])
    assert rounds.done[0].on == date(2026, 3, 12)


def test_told_twice_counts_once() -> None:
    assert planned(said(10, "sprayed"), said(10, "sprayed")).left == 3


def test_the_last_round_done_leaves_none() -> None:
    rounds = planned(*(said(10 * n, "sprayed") for n in (1, 2, 3, 4)))
    assert rounds.dates == ()
    assert rounds.left == 0
    assert planned(*(said(10 * n, "sprayed") for n in (1, 2, 3, 4, 5))).left == 0


def test_a_silent_round_is_due_at_once_until_the_next_is_announced() -> None:
    rounds = planned(said(10, "sprayed"))
    assert numbers(rounds.ahead(day(26)).dates) == [26, 36, 46]
    assert rounds.ahead(day(26)).unreported == ()
    on_the_eve = rounds.ahead(day(29))
    assert numbers(on_the_eve.dates) == [30, 40]
    assert numbers(on_the_eve.unreported) == [20]
    assert on_the_eve.number(day(30)) == 3


def test_looking_ahead_never_looks_back() -> None:
    rounds = planned(said(10, "sprayed"))
    assert rounds.ahead(day(5)) == rounds


def test_a_report_after_silence_settles_the_round_of_that_day() -> None:
    rounds = planned(said(20, "sprayed"))
    assert numbers(rounds.unreported) == [10]
    assert numbers(rounds.dates) == [30, 40]


def test_a_round_told_late_fills_the_silence() -> None:
    rounds = planned(said(20, "sprayed"), said(21, "sprayed", on=iso(11)))
    assert rounds.unreported == ()
    assert numbers(tuple(done.on for done in rounds.done)) == [11, 20]
    assert numbers(rounds.dates) == [30, 40]


def test_a_round_told_late_without_a_silence_counts_as_another() -> None:
    rounds = planned(said(10, "sprayed"), said(11, "sprayed", on=iso(2)))
    assert rounds.left == 2


def test_a_washed_off_round_is_repeated_once_after_the_rain() -> None:
    rounds = planned(
        said(10, "sprayed"),
        said(20, "sprayed"),
        said(21, "blocked", from_on=iso(21), until_on=iso(22)),
        said(21, "washed"),
    )
    assert numbers(rounds.dates) == [23, 33, 43]
    assert rounds.repeat
    assert rounds.number(day(23)) == 2
    assert rounds.left == 2
    again = [said(23, "sprayed"), said(24, "washed")]
    rounds = planned(said(10, "sprayed"), said(20, "sprayed"), said(21, "washed"), *again)
    assert numbers(rounds.dates) == [33, 43]
    assert not rounds.repeat
    assert rounds.done[-1].washed
    assert rounds.done[-1].repeat


def test_rain_before_any_round_or_told_twice_changes_nothing() -> None:
    assert planned(said(5, "washed")).dates == planned().dates
    once = planned(said(10, "sprayed"), said(11, "washed"))
    assert planned(said(10, "sprayed"), said(11, "washed"), said(11, "washed")).dates == once.dates
    dry = planned(said(10, "sprayed"), said(11, "washed", on=iso(9)))
    assert not dry.repeat


def test_a_repeat_can_be_skipped() -> None:
    rounds = planned(said(10, "sprayed"), said(11, "washed"), said(12, "skipped"))
    assert numbers(rounds.dates) == [20, 30, 40]
    assert rounds.left == 3


def test_a_silent_repeat_is_closed_by_the_next_round() -> None:
    rounds = planned(said(10, "sprayed"), said(11, "washed")).ahead(day(21))
    assert numbers(rounds.unreported) == [12]
    assert numbers(rounds.dates) == [22, 32, 42]
    assert rounds.left == 3


def test_skipping_leaves_one_out_and_keeps_the_others_where_they_stood() -> None:
    rounds = planned(said(10, "sprayed"), said(19, "skipped"))
    assert numbers(rounds.dates) == [30, 40]
    assert numbers(rounds.skipped) == [20]
    nothing_left = planned(said(1, "skipped"), times=1)
    assert numbers(planned(said(1, "skipped"), said(2, "skipped"), times=1).skipped) == [10, 2]
    assert nothing_left.dates == ()


def test_late_moves_the_next_round_and_the_others_follow() -> None:
    rounds = planned(said(10, "late", to_on=iso(13)))
    assert numbers(rounds.dates) == [13, 23, 33, 43]
    assert planned(said(10, "late")).dates == planned().dates


def test_a_harvest_is_guarded_and_what_no_longer_fits_is_dropped() -> None:
    rounds = planned(
        said(10, "sprayed"),
        said(20, "sprayed"),
        said(24, "harvest", harvest_on=iso(50), stop_days=10),
    )
    assert numbers(rounds.dates) == [30, 40]
    assert rounds.dropped == 0
    pressed = planned(said(10, "sprayed"), said(28, "sprayed"), harvest_on=iso(50), stop_days=10)
    assert numbers(pressed.dates) == [38]
    assert pressed.dropped == 1
    assert pressed.is_last(day(38))


def test_a_crop_picked_for_weeks_is_sprayed_between_the_pickings() -> None:
    rounds = planned(first_pick_on=iso(25), pick_every_days=12, stop_days=7)
    assert numbers(rounds.dates) == [10, 26, 38, 50]


def test_a_crop_picked_every_few_days_is_not_sprayed_any_more() -> None:
    rounds = planned(first_pick_on=iso(35), pick_every_days=3, stop_days=7)
    assert numbers(rounds.dates) == [10, 19, 28]
    assert rounds.dropped == 1


def test_a_plan_without_number_goes_on_to_the_horizon_or_the_harvest() -> None:
    endless = fold(HEAD, [said(0, "plan", **{**PLAN, "times": None, "interval_days": 30})])
    assert numbers(endless.dates) == [0, 30, 60, 90, 120]
    assert endless.left is None
    assert endless.dropped == 0
    assert not endless.is_last(day(120))
    until = planned(said(10, "sprayed"), times=None, harvest_on=iso(47))
    assert numbers(until.dates) == [20, 30, 40]
    assert until.is_last(day(40))
    over = planned(said(10, "sprayed"), times=None, harvest_on=iso(12))
    assert over.dates == ()


def test_market_days_and_feasts_are_nobodys_spray_days() -> None:
    sunday = ORIGIN.date().weekday()
    rounds = planned(
        said(1, "blocked", weekdays=[(sunday + 10) % 7]),
        said(1, "blocked", from_on=iso(21), until_on=iso(22)),
        said(1, "blocked", from_on=iso(31)),
        said(1, "blocked", on=iso(41)),
    )
    assert numbers(rounds.dates) == [11, 23, 33, 43]
    opened = planned(
        said(1, "blocked", weekdays=[3]),
        said(1, "opened", weekdays=[3]),
        said(1, "blocked", from_on=iso(9), until_on=iso(15)),
        said(1, "opened", from_on=iso(10), until_on=iso(12)),
        said(1, "opened", on=iso(30)),
    )
    assert numbers(opened.dates) == [10, 20, 30, 40]
    assert [numbers((span.first_on, span.last_on)) for span in opened.shut_spans] == [
        [9, 9],
        [13, 15],
    ]


def test_on_hold_every_round_waits_and_release_sets_them_again() -> None:
    held = planned(said(9, "hold"))
    assert held.held
    assert held.dates == ()
    assert numbers(planned(said(5, "hold"), said(7, "release")).dates) == [10, 20, 30, 40]
    assert numbers(planned(said(9, "hold"), said(13, "release")).dates) == [13, 23, 33, 43]
    sprayed_anyway = planned(said(9, "hold"), said(12, "sprayed"), said(13, "release"))
    assert numbers(sprayed_anyway.dates) == [22, 32, 42]


def test_an_ended_plan_has_no_rounds() -> None:
    assert planned(said(3, "ended")).dates == ()
    assert planned(said(3, "ended")).ended


def test_a_later_plan_changes_only_what_it_names() -> None:
    rounds = planned(said(1, "plan", times=2, mix_ml=48_000, area_m2="2023.5", plants=300))
    assert numbers(rounds.dates) == [10, 20]
    assert rounds.dose.culture_ml == 12_000
    assert rounds.dose.area_m2 == Decimal("2023.5")
    assert rounds.dose.plants == 300
    assert rounds.crop == "tomato"
    assert planned(said(1, "plan", minimum_days=9)).pace.minimum_days == 9
    assert planned(said(1, "plan", interval_days=20)).pace.minimum_days == 14
    assert planned(minimum_days=20).pace.minimum_days == 10


def test_an_unthinned_use_takes_culture_alone() -> None:
    assert planned(water_parts="0").dose.culture_ml == 32_000


@pytest.mark.parametrize("interval", [15, 20, 30])
def test_drench_rounds_are_planned_alike(interval: int) -> None:
    rounds = fold(
        HEAD,
        [
            said(
                0,
                "plan",
                use="soil",
                mix_ml=90_000,
                water_parts="2",
                interval_days=interval,
                times=3,
                start_on=iso(4),
            )
        ],
    )
    assert numbers(rounds.dates) == [4, 4 + interval, 4 + 2 * interval]
    assert rounds.pace.minimum_days == 15
    assert rounds.dose.culture_ml == 30_000


def test_needs_name_the_days_each_round_may_move_by() -> None:
    needs = planned(said(10, "sprayed"), harvest_on=iso(48), stop_days=7).needs()
    assert [
        [(each - ORIGIN.date()).days for each in (need.earliest_on, need.on, need.latest_on)]
        for need in needs
    ] == [[18, 20, 22], [28, 30, 32], [38, 40, 41]]
    assert {need.culture_ml for need in needs} == {8_000}
    close = planned(said(9, "sprayed"), said(11, "late", to_on=iso(16)))
    assert numbers((close.needs()[0].earliest_on,)) == [16]
    assert planned(said(10, "sprayed"), said(11, "washed")).needs()[0].earliest_on == day(12)


def test_customs_around_a_round() -> None:
    assert shortest_gap(20, "leaf") == 14
    assert taken_off("soil", 60, 30)
    assert not taken_off("leaf", 4.9, 1)
    assert taken_off("leaf", 3, 1, leaf_mm=2)


@given(mix=st.integers(1, 10**9), culture=st.integers(1, 1000), water=st.integers(0, 2000))
def test_culture_and_water_make_the_mix_to_the_millilitre(
    mix: int, culture: int, water: int
) -> None:
    dose = Dose(culture_parts=Decimal(culture), water_parts=Decimal(water), mix_ml=mix)
    assert dose.culture_ml + dose.water_ml == mix
    exact = Decimal(mix) * culture / (culture + water)
    assert exact <= dose.culture_ml < exact + 1


def test_without_a_known_harvest_every_day_is_open() -> None:
    assert Harvest().is_open(day(0))
    assert Harvest().last_round_on is None


@given(
    stop=st.integers(0, 20),
    every=st.none() | st.integers(1, 30),
    first=st.integers(0, 40),
    end=st.none() | st.integers(0, 120),
    asked=st.integers(0, 150),
)
def test_a_day_is_open_when_no_picking_follows_within_the_stop(
    stop: int, every: int | None, first: int, end: int | None, asked: int
) -> None:
    harvest = Harvest(None if end is None else day(end), day(first), every, stop)
    picks = [*range(first, 200, every or 1), *([] if end is None else [end])]
    if end is not None and asked > end - stop:
        assert not harvest.is_open(day(asked))
    elif stop or every:
        expected = all(not 0 <= pick - asked < stop for pick in picks)
        assert harvest.is_open(day(asked)) is expected


KINDS = st.sampled_from(
    ["sprayed", "washed", "skipped", "late", "blocked", "opened", "hold", "release", "harvest"]
)


@given(
    told=st.lists(st.tuples(st.integers(0, 90), KINDS, st.integers(-3, 6)), max_size=14),
    times=st.none() | st.integers(1, 6),
    interval=st.integers(5, 30),
)
def test_whatever_is_told_no_round_breaks_its_promises(
    told: list[tuple[int, str, int]], times: int | None, interval: int
) -> None:
    entries = [
        said(
            0,
            "plan",
            **{
                **PLAN,
                "interval_days": interval,
                "minimum_days": None,
                "times": times,
                "start_on": iso(3),
            },
        )
    ]
    for when, kind, aside in sorted(told):
        near = iso(max(0, when + aside))
        data: Mapping[str, object] = {
            "late": {"to_on": near},
            "harvest": {"harvest_on": iso(when + 30 + aside)},
            "blocked": {"from_on": iso(when), "until_on": iso(when + max(aside, 0))},
            "opened": {"from_on": iso(when), "until_on": iso(when + max(aside, 0))},
        }.get(kind, {"on": iso(max(0, when - max(aside, 0)))})
        entries.append(said(when, kind, **data))
    rounds = fold(HEAD, entries)
    gaps = [(b - a).days for a, b in zip(rounds.dates, rounds.dates[1:], strict=False)]
    assert all(gap >= rounds.pace.minimum_days for gap in gaps)
    assert all(each >= rounds.as_of and rounds.is_open(each) for each in rounds.dates)
    if rounds.dates and rounds.done and not rounds.repeat:
        assert (rounds.dates[0] - rounds.done[-1].on).days >= rounds.pace.minimum_days
    for need in rounds.needs():
        assert need.earliest_on <= need.on <= need.latest_on
    if times is not None and not rounds.held:
        assert rounds.left is not None
        assert len(rounds.dates) + rounds.dropped == rounds.left + rounds.repeat
        assert rounds.settled >= len([done for done in rounds.done if not done.repeat])
    assert rounds.ahead(rounds.as_of + timedelta(days=400)).as_of == rounds.as_of + timedelta(400)


def test_a_round_that_sprays_less_does_so_once() -> None:
    rounds = planned(said(1, "less", number=1, percent=80))
    assert rounds.dose_on(day(10)).mix_ml == 25_600
    assert rounds.dose_on(day(20)).mix_ml == 32_000
    assert [need.culture_ml for need in rounds.needs()] == [6_400, 8_000, 8_000, 8_000]
    twice = planned(said(1, "less", number=1, percent=80), said(2, "less", number=1, percent=50))
    assert twice.dose_on(day(10)).mix_ml == 16_000
    done = planned(said(1, "less", number=1, percent=80), said(10, "sprayed"))
    assert done.done[0].mix_ml == 25_600
    assert done.dose_on(day(20)).mix_ml == 32_000
    assert planned(said(1, "less", number=1)).less == ()


def test_a_new_plan_takes_over_what_the_group_has_shut() -> None:
    shut = planned(shut_weekdays=[2], shut_spans=[[iso(20), iso(22)]], held=False)
    assert numbers(shut.dates) == [11, 23, 33, 43]
    assert planned(held=True).dates == ()
    assert numbers(planned(said(2, "release"), held=True).dates) == [10, 20, 30, 40]
