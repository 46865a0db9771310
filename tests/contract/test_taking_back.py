"""One suite over SQLite and PostgreSQL: days that come again, and those that do not."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from sqlalchemy import select, update

from bot.records import outbox, rules, taking_back, timekeeping
from bot.records.store import Store
from bot.records.tables import fired
from bot.records.tables import outbox as outbox_rows
from tests.contract.rows import NOW, daily, letter, put, take, taken


def test_a_clock_that_ran_ahead_gives_back_the_days_it_only_passed_over(store: Store) -> None:
    daily(store)
    ahead = NOW + timedelta(days=3, hours=1)
    with store.begin() as tx:
        assert timekeeping.is_trusted(tx, NOW)
        assert timekeeping.is_trusted(tx, ahead)
        taken(tx, ahead)
    back = NOW + timedelta(minutes=10)
    with store.begin() as tx:
        assert not timekeeping.is_trusted(tx, back)
    with store.begin() as tx:
        assert not timekeeping.is_trusted(tx, back + timedelta(minutes=59))
        assert timekeeping.look(tx).behind_since == back
    with store.begin() as tx:
        assert timekeeping.is_trusted(tx, back + timedelta(minutes=60))
    days = []
    for hours in range(0, 120, 1):
        days += [each.due.due_on for each in take(store, NOW + timedelta(hours=1 + hours))]
    # The 5th was said while the clock ran ahead; the 2nd to the 4th were only passed over.
    assert days == [date(2026, 3, 2), date(2026, 3, 3), date(2026, 3, 4), date(2026, 3, 6)]


def test_a_day_put_off_by_a_clock_that_ran_ahead_falls_due_on_its_own_day(store: Store) -> None:
    daily(store)
    ahead = NOW + timedelta(days=3)
    put(store, letter("early"))
    with store.begin() as tx:
        assert timekeeping.is_trusted(tx, ahead)
        rules.postpone(tx, "m1", ahead, ahead + timedelta(days=1), {"stir"})
        tx.execute(update(outbox_rows).values(created_at=ahead))
        timekeeping.accept(tx, NOW + timedelta(minutes=5), NOW)
        assert rules.next_due(tx) == NOW + timedelta(hours=1)
        created_at = tx.execute(select(outbox_rows.c.created_at)).scalar_one()
    # It would fill the ceiling of a day that is still to come.
    assert created_at == NOW


def test_words_overtaken_over_midnight_fold_into_the_day_that_was_said_meanwhile(
    store: Store,
) -> None:
    daily(store)
    at = NOW + timedelta(hours=1)
    _other, outbox_id = put(store, letter("other"), letter("first"))
    assert outbox_id is not None
    with store.begin() as tx:
        found = rules.take(rules.waiting(tx, ["m1"], at)["m1"], at, at)
        rules.settle(tx, [(each, "said", outbox_id) for each in found], at)
    next_at = at + timedelta(days=1)
    take(store, next_at)
    with store.begin() as tx:
        tx.execute(update(outbox_rows).values(status="dropped", cause=outbox.OVERTAKEN))
        taking_back.rearm(tx, outbox_id, next_at)
    take(store, next_at)
    with store.reading() as tx:
        became = tx.execute(select(fired.c.became).order_by(fired.c.due_on)).scalars().all()
    assert became == ["folded", "said"]


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_words_of_two_days_taken_back_together_both_come_to_something(
    store: Store, order: tuple[int, int]
) -> None:
    daily(store)
    letters = put(store, letter("first"), letter("second"))
    at = NOW + timedelta(hours=1)
    for outbox_id in letters:
        with store.begin() as tx:
            found = rules.take(rules.waiting(tx, ["m1"], at)["m1"], at, at)
            rules.settle(tx, [(each, "said", outbox_id) for each in found], at)
        at += timedelta(days=1)
    with store.begin() as tx:
        tx.execute(update(outbox_rows).values(status="dropped", cause=outbox.OVERTAKEN))
        for place in order:
            taking_back.rearm(tx, letters[place] or 0, at - timedelta(days=1))
    (again,) = take(store, at - timedelta(days=1))
    assert again.due.due_on == date(2026, 3, 3)
    assert [each.due_on for each in again.folded] == [date(2026, 3, 2)]
    with store.reading() as tx:
        became = tx.execute(select(fired.c.became).order_by(fired.c.due_on)).scalars().all()
    assert became == ["folded", "said"]


@pytest.mark.parametrize("may_have_arrived", [False, True])
def test_the_key_of_overtaken_words_is_free_unless_they_may_have_arrived(
    store: Store, may_have_arrived: bool
) -> None:
    daily(store)
    (outbox_id,) = put(store, letter("first"))
    at = NOW + timedelta(hours=1)
    with store.begin() as tx:
        found = rules.take(rules.waiting(tx, ["m1"], at)["m1"], at, at)
        rules.settle(tx, [(each, "said", outbox_id) for each in found], at)
        gone = {"status": "dropped", "unknown_at": at if may_have_arrived else None}
        tx.execute(update(outbox_rows).values(gone))
        taking_back.rearm(tx, outbox_id or 0, at)
    assert (put(store, letter("first")) == [None]) is may_have_arrived
