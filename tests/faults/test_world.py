"""What the world does: storms, a full disk, a database that goes away, clocks that jump."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import select, text
from sqlalchemy.exc import OperationalError

from bot.messages import Became, Outcome, Outgoing
from bot.records import housekeeping
from bot.records.store import Store, is_passing
from bot.records.tables import fired, inbox, outbox
from tests.contract.stores import opened, sqlite_at
from tests.faults.farm import Farm, Net

NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)


def storm(chance: random.Random) -> Callable[[Outgoing], Outcome]:
    def meets(_outgoing: Outgoing) -> Outcome:
        return chance.choice(
            [
                Outcome(Became.SENT),
                Outcome(Became.LATER, "429", retry_after_s=chance.choice([1, 7, 30])),
                Outcome(Became.LATER, "429", retry_after_s=5, whole_channel=True),
                Outcome(Became.LATER, "connection refused"),
                Outcome(Became.UNKNOWN, "500"),
            ]
        )

    return meets


@pytest.mark.parametrize("seed", range(3))
def test_in_a_storm_of_429_and_500_nothing_is_lost_and_repeats_are_owned_up_to(
    store: Store, seed: int
) -> None:
    chance = random.Random(seed)
    farm = Farm(store, Net(storm(chance)))
    farm.barrels("01234567", NOW)
    farm.until(NOW + HOUR, NOW)
    arrived = Counter(each.key for each in farm.net.arrived)
    with store.reading() as tx:
        rows = tx.execute(select(outbox)).all()
    assert {row.status for row in rows} <= {"sent", "unknown", "refused"}
    for row in rows:
        if row.status == "sent":
            assert arrived[row.key] >= 1
        assert arrived[row.key] <= 2
        assert arrived[row.key] < 2 or row.unknown_at is not None
        assert row.status != "refused" or row.cause.startswith("given up")


def test_a_full_disk_loses_nothing_and_the_bot_goes_on_when_there_is_room(tmp_path: Path) -> None:
    store = opened(sqlite_at(tmp_path))
    farm = Farm(store)
    farm.barrels("01", NOW)
    with store.begin() as tx:
        pages = tx.execute(text("PRAGMA page_count")).scalar_one()
        tx.execute(text(f"PRAGMA max_page_count = {pages}"))

    def fill() -> None:
        for number in range(500):
            farm.says("0", f"leaf spray {number + 1} tanks of 16 litres", NOW)
            farm.engine.step(NOW)

    with pytest.raises(OperationalError) as fault:
        fill()
    assert is_passing(fault.value)
    with store.begin() as tx:
        tx.execute(text("PRAGMA max_page_count = 1000000"))
    farm.until(NOW + HOUR, NOW)
    with store.reading() as tx:
        heard = tx.execute(select(inbox)).all()
        letters = tx.execute(select(outbox)).all()
    assert {row.status for row in heard} == {"done"}
    # What was acknowledged is there, answered once; what was not would be handed in again.
    accepted = farm.accepted
    assert len(heard) == len(accepted)
    assert {row.outside_id for row in heard} == set(accepted)
    assert {row.status for row in letters} == {"sent"}
    assert sorted(each.key for each in farm.net.arrived) == sorted(row.key for row in letters)
    assert len([row for row in letters if row.key.startswith("in:")]) == len(accepted)
    store.close()


def test_a_database_that_drops_every_connection_is_found_again(
    store: Store,
) -> None:
    if store.is_sqlite:
        pytest.skip("SQLite has no connections to drop")
    farm = Farm(store)
    farm.barrels("01", NOW)
    farm.says("0", "leaf spray 3 tanks of 16 litres", NOW)
    with store.begin() as tx:
        tx.execute(
            text(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
                "WHERE datname = current_database() AND pid <> pg_backend_pid()"
            )
        )
    store.engine.dispose()
    farm.until(NOW + HOUR, NOW)
    with store.reading() as tx:
        assert set(tx.execute(select(inbox.c.status)).scalars()) == {"done"}


@pytest.mark.parametrize("jump", [-3 * DAY, -HOUR, HOUR, 3 * DAY])
def test_a_clock_that_jumps_and_comes_back_sends_no_day_twice(
    store: Store, jump: timedelta
) -> None:
    farm = Farm(store)
    farm.barrels("01", NOW)
    now = NOW
    for _day in range(2):
        farm.until(now + DAY, now)
        now += DAY
    wrong = now + jump
    farm.until(wrong + timedelta(minutes=20), wrong)
    now += timedelta(minutes=20)
    for _day in range(5):
        farm.until(now + DAY, now)
        now += DAY
    with store.reading() as tx:
        days = tx.execute(
            select(fired.c.rule_id, fired.c.due_on).where(fired.c.became == "said")
        ).all()
    assert len(days) == len(set(days))
    per_member = Counter((row.member_id, row.about[0], row.created_at) for row in farm.reminders())
    assert max(per_member.values()) == 1
    said_on = {row.due_on for row in days}
    # Seven days were lived through by the right clock: each was called for.
    assert {(NOW + (number + 1) * DAY).date() for number in range(7)} <= said_on


def test_after_three_days_away_one_stir_stands_for_three(store: Store) -> None:
    farm = Farm(store)
    farm.barrels("0", NOW)
    farm.engine.step(NOW + 3 * DAY)
    assert len(farm.reminders()) == 1


def test_nobody_is_woken_in_quiet_hours_and_everything_comes_after(store: Store) -> None:
    farm = Farm(store)
    farm.barrels("0", NOW)
    with store.begin() as tx:
        tx.execute(text('UPDATE member SET settings = \'{"quiet": ["21:00", "08:30"]}\''))
    farm.until(NOW + DAY, NOW)
    (row,) = farm.reminders()
    assert row.created_at == datetime(2026, 3, 3, 8, 30, tzinfo=UTC)


def test_routine_words_come_once_a_day_and_what_is_over_waits_with_its_own_day(
    store: Store,
) -> None:
    farm = Farm(store)
    farm.barrels("0", NOW)
    farm.until(NOW + 20 * HOUR, NOW)
    assert len(farm.reminders()) == 1
    # A second hour on the same day: the barrel was stirred already, the next is tomorrow's.
    farm.says("0", "started 100 l barrel yesterday", NOW + 20 * HOUR)
    farm.says("0", "remind me at 10", NOW + 20 * HOUR)
    farm.until(NOW + 30 * HOUR, NOW + 20 * HOUR)
    assert len(farm.reminders()) == 1
    farm.until(NOW + 2 * DAY, NOW + 30 * HOUR)
    assert len(farm.reminders()) == 2


def test_housekeeping_takes_away_what_has_served_and_nothing_else(store: Store) -> None:
    farm = Farm(store)
    farm.barrels("01", NOW)
    farm.until(NOW + 4 * DAY, NOW)
    gone = housekeeping.tidy(store, NOW + 10 * DAY, keep_days=1)
    assert gone["outbox"] > 0
    assert gone["inbox"] == 2
    farm.until(NOW + 5 * DAY, NOW + 4 * DAY)
    assert len(farm.reminders()) == 2
