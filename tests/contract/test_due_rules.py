"""One suite over SQLite and PostgreSQL: when a rule falls due, and when it does not."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from sqlalchemy import select

from bot.facts import Rule
from bot.records import passing_by, rules, tallies, timekeeping
from bot.records.store import Store
from bot.records.tables import fired
from tests.contract.rows import NOW, daily, take


def wanted(store: Store, zone: str, hour: time, now: datetime) -> None:
    """From now on the daily rule is wanted at this hour of this zone."""
    each = Rule("stir", "s1", "", None, zone, date(2026, 3, 2), hour, 1)
    with store.begin() as tx:
        rules.reconcile(tx, "s1", [each], "m1", now)


def test_a_rule_falls_due_once_a_day(store: Store) -> None:
    daily(store)
    assert take(store, NOW) == []
    (first,) = take(store, NOW + timedelta(hours=1))
    assert first.due.due_on == date(2026, 3, 2)
    assert take(store, NOW + timedelta(hours=2)) == []
    (second,) = take(store, NOW + timedelta(hours=25))
    assert second.due.due_on == date(2026, 3, 3)


def test_after_three_days_away_the_newest_day_stands_for_the_others(store: Store) -> None:
    daily(store)
    (caught,) = take(store, NOW + timedelta(days=3, hours=1))
    assert caught.due.due_on == date(2026, 3, 5)
    assert len(caught.folded) == 3
    assert not caught.lapsed


def test_a_rule_that_is_wanted_again_falls_due_again_but_says_no_day_twice(store: Store) -> None:
    daily(store)
    wanted = Rule("stir", "s1", "", None, "UTC", date(2026, 3, 2), time(8), 1)
    assert len(take(store, NOW + timedelta(hours=1))) == 1
    with store.begin() as tx:
        rules.reconcile(tx, "s1", [], "m1", NOW + timedelta(hours=2))
        assert rules.next_due(tx) is None
        rules.reconcile(tx, "s1", [wanted], "m1", NOW + timedelta(hours=3))
    assert take(store, NOW + timedelta(hours=4)) == []
    (next_day,) = take(store, NOW + timedelta(hours=25))
    assert next_day.due.due_on == date(2026, 3, 3)


def test_what_is_too_late_to_be_of_use_has_lapsed(store: Store) -> None:
    daily(store, stale="lapse", lapse_hours=6, every_days=None)
    (late,) = take(store, NOW + timedelta(hours=8))
    assert late.lapsed


def test_a_postponed_day_keeps_its_day_and_does_not_lapse_for_it(store: Store) -> None:
    daily(store, stale="lapse", lapse_hours=6, every_days=None)
    later = NOW + timedelta(hours=20)
    with store.begin() as tx:
        rules.postpone(tx, "m1", NOW + timedelta(hours=1), later, {"stir"})
    assert take(store, NOW + timedelta(hours=2)) == []
    (due,) = take(store, later)
    assert due.due.due_on == date(2026, 3, 2)
    assert not due.lapsed


def test_somebody_who_moves_east_past_their_hour_gets_that_day_at_once(store: Store) -> None:
    daily(store)
    wanted(store, "Asia/Tokyo", time(8), NOW + timedelta(minutes=30))
    (due,) = take(store, NOW + timedelta(minutes=30))
    assert due.due.due_on == date(2026, 3, 2)


def test_somebody_who_moves_west_after_their_hour_is_not_told_twice(store: Store) -> None:
    daily(store)
    take(store, NOW + timedelta(hours=1))
    wanted(store, "America/Bogota", time(8), NOW + timedelta(hours=2))
    assert take(store, NOW + timedelta(hours=20)) == []
    (due,) = take(store, NOW + timedelta(hours=30))
    assert due.due.due_on == date(2026, 3, 3)


def test_what_is_overdue_and_changed_is_not_lost(store: Store) -> None:
    daily(store)
    wanted(store, "UTC", time(6), NOW + timedelta(hours=3))
    (due,) = take(store, NOW + timedelta(hours=3))
    assert due.due.due_on == date(2026, 3, 2)


def test_after_a_restore_what_is_past_is_passed_over_without_a_word(store: Store) -> None:
    daily(store)
    with store.begin() as tx:
        assert passing_by.pass_over(tx, NOW + timedelta(days=2), "restored") == 2
    assert take(store, NOW + timedelta(days=2)) == []
    with store.begin() as tx:
        became = tx.execute(select(fired.c.became).order_by(fired.c.due_on)).scalars().all()
    assert became == ["folded", "restored"]


def test_a_small_step_back_of_the_clock_holds_nothing(store: Store) -> None:
    with store.begin() as tx:
        assert timekeeping.is_trusted(tx, NOW)
        assert timekeeping.is_trusted(tx, NOW - timedelta(seconds=90))
        assert tallies.all_of(tx) == {}
