from __future__ import annotations

from datetime import date, timedelta
from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.craft.replan import Calendar, Pace, replan

ORIGIN = date(2026, 3, 1)


def day(n: int) -> date:
    return ORIGIN + timedelta(days=n)


def numbers(days: tuple[date, ...]) -> list[int]:
    return [(each - ORIGIN).days for each in days]


def without(*shut: int) -> Calendar:
    return Calendar(day(0), None, lambda each: (each - ORIGIN).days not in shut)


# Source: agreed between two of our own planners, kept as a table of what a grower would expect.
@pytest.mark.parametrize(
    ("today", "left", "done", "end", "shut", "expected", "dropped"),
    [
        pytest.param(10, 3, 10, None, (), [20, 30, 40], 0, id="on time"),
        pytest.param(24, 2, 24, None, (), [34, 44], 0, id="done four days late, the rest slides"),
        pytest.param(24, 2, 24, 40, (), [32, 40], 0, id="harvest presses, gaps shrink evenly"),
        pytest.param(28, 2, 28, 40, (), [38], 1, id="no room for both"),
        pytest.param(26, 3, 10, None, (), [26, 36, 46], 0, id="overdue, nothing done"),
        pytest.param(24, 2, 23, None, (), [33, 43], 0, id="washed off again, not repeated"),
        pytest.param(45, 2, 40, 40, (), [], 2, id="too close to the harvest"),
        pytest.param(24, 1, 24, 35, (34, 35), [33], 0, id="shut on the day and after: earlier"),
    ],
)
def test_rounds_are_replanned_as_a_grower_would(
    today: int,
    left: int,
    done: int,
    end: int | None,
    shut: tuple[int, ...],
    expected: list[int],
    dropped: int,
) -> None:
    calendar = Calendar(
        day(today), None if end is None else day(end), lambda each: each not in set(map(day, shut))
    )
    found = replan(calendar, Pace(10, 7), left, done_on=day(done))
    assert numbers(found.dates) == expected
    assert found.dropped == dropped


def test_a_drench_every_twenty_days_keeps_its_pace() -> None:
    found = replan(Calendar(day(5)), Pace(20, 15), 3, done_on=day(0))
    assert numbers(found.dates) == [20, 40, 60]


def test_a_repeat_waits_for_the_rain_to_end() -> None:
    calendar = Calendar(day(21), None, lambda each: each not in {day(21), day(22)})
    assert numbers(replan(calendar, Pace(10, 7), 3).dates) == [23, 33, 43]


def test_the_first_round_stands_where_it_was_wanted() -> None:
    found = replan(Calendar(day(0)), Pace(10, 7), 2, wanted_on=day(5))
    assert numbers(found.dates) == [5, 15]


def test_a_wanted_day_gives_way_when_the_harvest_presses() -> None:
    calendar = Calendar(day(10), day(28))
    found = replan(calendar, Pace(10, 7), 2, done_on=day(10), wanted_on=day(25))
    assert numbers(found.dates) == [19, 28]


def test_a_named_day_is_kept_though_the_harvest_presses() -> None:
    calendar = Calendar(day(10), day(28))
    found = replan(calendar, Pace(10, 7), 2, done_on=day(10), moved_to=day(21))
    assert numbers(found.dates) == [21, 28]


def test_a_named_day_gives_way_when_a_round_would_be_lost_by_it() -> None:
    calendar = Calendar(day(10), day(28))
    found = replan(calendar, Pace(10, 7), 2, done_on=day(10), moved_to=day(24))
    assert numbers(found.dates) == [21, 28]


def test_a_calendar_that_is_always_shut_drops_every_round() -> None:
    found = replan(Calendar(day(0), None, lambda _day: False), Pace(10, 7), 2)
    assert found.dates == ()
    assert found.dropped == 2


@pytest.mark.parametrize(("interval", "minimum"), [(10, 0), (7, 10)])
def test_a_pace_that_contradicts_itself_is_refused(interval: int, minimum: int) -> None:
    with pytest.raises(ValueError, match="shortest gap"):
        Pace(interval, minimum)


@given(
    today=st.integers(0, 4),
    done_before=st.none() | st.integers(0, 11),
    minimum=st.integers(2, 5),
    more=st.integers(0, 5),
    room=st.integers(-3, 22),
    left=st.integers(0, 4),
    shut=st.frozensets(st.integers(0, 30), max_size=8),
    wanted=st.none() | st.integers(0, 25),
    moved=st.none() | st.integers(0, 25),
)
def test_as_many_rounds_are_kept_as_brute_force_finds(
    today: int,
    done_before: int | None,
    minimum: int,
    more: int,
    room: int,
    left: int,
    shut: frozenset[int],
    wanted: int | None,
    moved: int | None,
) -> None:
    done = None if done_before is None else today - done_before
    end = today + room
    found = replan(
        Calendar(day(today), day(end), lambda each: (each - ORIGIN).days not in shut),
        Pace(minimum + more, minimum),
        left,
        done_on=None if done is None else day(done),
        wanted_on=None if wanted is None else day(wanted),
        moved_to=None if moved is None else day(moved),
    )
    dates = numbers(found.dates)
    chain = dates if done is None else [done, *dates]
    assert all(today <= each <= end and each not in shut for each in dates)
    assert all(later - sooner >= minimum for sooner, later in pairwise(chain))
    assert len(dates) + found.dropped == left
    possible = [
        each
        for each in range(today, end + 1)
        if each not in shut and (done is None or each - done >= minimum)
    ]
    most = max(
        (
            size
            for size in range(left + 1)
            if any(
                all(b - a >= minimum for a, b in pairwise(some))
                for some in combinations(possible, size)
            )
        ),
        default=0,
    )
    assert len(dates) == most


@given(interval=st.integers(1, 30), left=st.integers(0, 12), start=st.integers(0, 60))
def test_without_pressure_every_gap_is_the_interval(interval: int, left: int, start: int) -> None:
    found = replan(without(), Pace(interval, 1), left, wanted_on=day(start))
    assert numbers(found.dates) == [start + interval * step for step in range(left)]
