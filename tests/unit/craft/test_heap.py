"""A heap: hot days one after another, turnings while hot, and raw until both are logged."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from bot.craft.entries import Entry, Head
from bot.craft.heap import Heap, fold

FIRST = date(2026, 3, 2)
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
HEAD = Head("h", "heap", "H1", "g", NOON)


def heap(temperatures: list[int], turned: list[int] | None = None, *, vessel: bool = False) -> Heap:
    entries = [Entry("heap", NOON, {"vessel": vessel})]
    for day, celsius in enumerate(temperatures):
        on = (FIRST + timedelta(days=day)).isoformat()
        entries.append(Entry("heap_temperature", NOON, {"celsius": celsius, "on": on}))
    for day in turned or []:
        on = (FIRST + timedelta(days=day)).isoformat()
        entries.append(Entry("heap_turned", NOON, {"on": on}))
    return fold(HEAD, entries)


def test_a_heap_that_never_logged_counts_as_raw() -> None:
    assert heap([]).status == "raw"
    assert heap([54] * 40, [1, 2, 3, 4, 5]).status == "raw"
    assert heap([]).turnings_while_hot == 0


def test_a_vessel_wants_three_hot_days() -> None:
    assert heap([55, 60], vessel=True).status == "under_way"
    assert heap([55, 60, 58], vessel=True).status == "logged"


def test_a_windrow_wants_fifteen_hot_days_and_five_turnings_in_them() -> None:
    assert heap([60] * 15, [1, 4, 7, 10]).status == "under_way"
    assert heap([60] * 14, [1, 4, 7, 10, 13]).status == "under_way"
    assert heap([60] * 15, [1, 4, 7, 10, 13]).status == "logged"
    assert heap([60] * 15, [1, 4, 7, 10, 20]).turnings_while_hot == 4


def test_a_cool_or_an_unlogged_day_breaks_the_run() -> None:
    assert len(heap([60, 60, 50, 60]).hot_days) == 2
    gap = fold(
        HEAD,
        [
            Entry("heap_temperature", NOON, {"celsius": 60, "on": day})
            for day in ("2026-03-02", "2026-03-04")
        ],
    )
    assert len(gap.hot_days) == 1


def test_too_hot_is_out_of_the_range_too() -> None:
    assert heap([80]).status == "raw"


def test_of_two_readings_of_a_day_the_higher_counts_and_the_unknown_is_left_out() -> None:
    one = fold(
        HEAD,
        [
            Entry("heap_temperature", NOON, {"celsius": 60}),
            Entry("heap_temperature", NOON, {"celsius": 40}),
            Entry("heap_temperature", NOON),
            Entry("other", NOON),
        ],
    )
    assert one.readings == ((FIRST, Decimal(60)),)
    assert one.built_on == FIRST
