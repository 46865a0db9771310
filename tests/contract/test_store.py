"""One suite over SQLite and PostgreSQL: leases, transactions, moments, revisions."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from sqlalchemy import func, select
from sqlalchemy.exc import OperationalError

from bot.messages import Incoming
from bot.records import addresses, inbox, leases, outbox, people, revisions
from bot.records.doorway import Doorway
from bot.records.store import Store, StoreError
from bot.records.tables import inbox as inbox_rows
from bot.records.tables import member, rule
from bot.records.tables import outbox as outbox_rows
from tests.contract.rows import NOW, claimed, daily, grower, letter, put


def said(text: str, outside_id: str = "1", address: str = "7") -> Incoming:
    return Incoming("test", outside_id, address, text, NOW)


def test_a_lease_is_held_by_one_until_it_lapses(store: Store) -> None:
    length = timedelta(seconds=30)
    assert leases.hold(store, "channel:test", "a", NOW, length)
    assert leases.hold(store, "channel:test", "a", NOW + length / 2, length)
    assert not leases.hold(store, "channel:test", "b", NOW + length, length)
    assert leases.hold(store, "channel:test", "b", NOW + 2 * length, length)
    assert not leases.hold(store, "channel:test", "a", NOW + 2 * length, length)


def test_a_lease_given_back_is_free_at_once(store: Store) -> None:
    length = timedelta(seconds=30)
    leases.hold(store, "channel:test", "a", NOW, length)
    leases.give_back(store, "channel:test", "a")
    assert leases.hold(store, "channel:test", "b", NOW, length)


def test_what_a_channel_keeps_is_there_again(store: Store) -> None:
    door = Doorway(store, lambda: NOW)
    assert door.recall("test", "offset") == ""
    door.keep("test", "offset", "5")
    door.keep("test", "offset", "6")
    assert door.recall("test", "offset") == "6"


def test_what_failed_half_way_was_never_there(store: Store) -> None:
    def half_way() -> None:
        with store.begin() as tx:
            people.welcome(tx, member_id="m1", group_id="g1", channel="test", address="7", now=NOW)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        half_way()
    with store.begin() as tx:
        assert tx.execute(select(func.count()).select_from(member)).scalar_one() == 0


def test_moments_come_back_in_utc_and_naive_ones_are_refused(store: Store) -> None:
    grower(store)
    with store.begin() as tx:
        found = people.by_id(tx, "m1")
        assert found is not None
        assert found.created_at == NOW
        assert found.created_at.tzinfo is not None
    with pytest.raises(Exception, match="without a zone"), store.begin() as tx:
        addresses.died(tx, "test", "7", datetime(2026, 3, 2))  # noqa: DTZ001 - the fault itself


def test_a_database_newer_than_the_program_is_refused_in_one_line(store: Store) -> None:
    with store.begin() as tx:
        tx.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(StoreError, match="install the newer program"):
        store.migrate()


def test_every_revision_steps_down_and_up_again_with_rows_in_it(store: Store) -> None:
    rule_id = daily(store)
    put(store, letter("k"))
    inbox.keep(store, said("stirred"), NOW)
    revisions.downgrade(store, "-1")
    store.migrate()
    with store.begin() as tx:
        assert tx.execute(select(rule.c.id)).scalar_one() == rule_id
        assert tx.execute(select(outbox_rows.c.text)).scalar_one() == "text of k"
        assert tx.execute(select(inbox_rows.c.status)).scalar_one() == "waiting"
    assert claimed(store, "a") == ["k"]


def test_a_commit_that_fails_leaves_nothing_behind_and_the_next_one_is_its_own(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(_connection: object) -> None:
        raise OperationalError("COMMIT", None, Exception("database or disk is full"))

    with monkeypatch.context() as broken:
        broken.setattr(store.engine.dialect, "do_commit", fails)
        with pytest.raises(OperationalError), store.begin() as tx:
            outbox.put(tx, [letter("lost")], NOW)
    with store.begin() as tx:
        outbox.put(tx, [letter("kept")], NOW)
    with store.reading() as tx:
        assert tx.execute(select(outbox_rows.c.key)).scalars().all() == ["kept"]
