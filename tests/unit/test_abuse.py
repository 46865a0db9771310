"""Machines that answer, and senders who write too much."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from bot.abuse import LOOP_WITHIN, Round, alike, free_at, is_loop

AT = datetime(2026, 3, 2, 7, 0, tzinfo=UTC)


def machine(number: int, text: str = "I am away until {n}:30", after_s: int = 5) -> Round:
    ours = AT + timedelta(minutes=number)
    return Round(text.format(n=number), ours + timedelta(seconds=after_s), ours)


def test_a_machine_that_answers_three_times_alike_is_left_alone() -> None:
    rounds = [machine(n) for n in range(5)]
    assert not is_loop(rounds[:2])
    assert is_loop(rounds[:3])
    assert is_loop(rounds)


def test_a_person_is_never_taken_for_a_machine() -> None:
    assert not is_loop([machine(n, after_s=61) for n in range(3)])
    assert not is_loop([machine(1, "stirred"), machine(2, "stirred b2"), machine(3, "thanks")])
    assert not is_loop([Round("done", AT + timedelta(days=n)) for n in range(5)])
    early = Round("done", AT, AT + timedelta(seconds=5))
    assert not is_loop([early] * 3)


def test_a_machine_that_falls_silent_once_is_heard_again() -> None:
    assert not is_loop([machine(1), machine(2), machine(3, "ready"), machine(4), machine(5)])


def test_the_bounds_belong_to_the_loop() -> None:
    at_the_end = int(LOOP_WITHIN.total_seconds())
    assert is_loop([machine(n, after_s=at_the_end) for n in range(3)])
    assert is_loop([machine(n, after_s=0) for n in range(3)])
    assert alike(" 12 ") == "#"


@given(st.lists(st.integers(-200, 0), max_size=40), st.integers(1, 10), st.integers(1, 120))
def test_a_sender_is_free_again_when_fewer_than_the_most_are_left_in_the_window(
    minutes: list[int], most: int, window_min: int
) -> None:
    came = [AT + timedelta(minutes=minute) for minute in minutes]
    window = timedelta(minutes=window_min)
    free = free_at(came, AT, most=most, window=window)

    def inside(moment: datetime) -> int:
        return sum(moment - window < one <= moment for one in came)

    if free is None:
        assert inside(AT) < most
    else:
        assert inside(AT) >= most
        assert free > AT
        assert free_at(came, free, most=most, window=window) is None
        assert free_at(came, free - timedelta(seconds=1), most=most, window=window) == free
