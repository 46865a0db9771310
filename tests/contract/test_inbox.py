"""One suite over SQLite and PostgreSQL: what comes in is kept once, in its order."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sqlalchemy import select

from bot.messages import Incoming
from bot.records import inbox
from bot.records.store import Store
from bot.records.tables import inbox as inbox_rows
from tests.contract.rows import NOW


def said(text: str, outside_id: str = "1", address: str = "7") -> Incoming:
    return Incoming("test", outside_id, address, text, NOW)


def test_a_message_of_one_outside_id_is_kept_once(store: Store) -> None:
    assert inbox.keep(store, said("stirred"), NOW)
    assert not inbox.keep(store, said("stirred"), NOW)


def test_the_same_outside_id_on_another_channel_is_another_message(store: Store) -> None:
    assert inbox.keep(store, said("stirred"), NOW)
    assert inbox.keep(store, replace(said("stirred"), channel="other"), NOW)


def test_a_message_with_a_nul_in_it_is_kept_without(store: Store) -> None:
    inbox.keep(store, said("stir\0red"), NOW)
    with store.begin() as tx:
        row = inbox.first_waiting(tx, store.is_sqlite)
        assert row is not None
        assert inbox.incoming_of(row).text == "stirred"


def test_messages_of_one_address_are_handled_in_their_order(store: Store) -> None:
    for number in range(3):
        inbox.keep(store, said(f"{number}", f"{number}"), NOW)
    heard = []
    for _ in range(3):
        with store.begin() as tx:
            row = inbox.first_waiting(tx, store.is_sqlite)
            assert row is not None
            heard.append(inbox.incoming_of(row).text)
            inbox.finish(tx, row.id, "m1")
    assert heard == ["0", "1", "2"]


def test_what_cannot_be_read_is_set_aside_with_its_cause_and_the_rest_goes_on(store: Store) -> None:
    inbox.keep(store, replace(said("", "1"), fault="no such update", raw="{"), NOW)
    inbox.keep(store, said("stirred", "2"), NOW)
    with store.begin() as tx:
        row = inbox.first_waiting(tx, store.is_sqlite)
        assert row is not None
        assert row.outside_id == "2"
        bad = tx.execute(select(inbox_rows).where(inbox_rows.c.status == "bad")).one()
    assert bad.cause == "no such update"
    assert bad.body["raw"] == "{"


def test_two_workers_never_take_messages_of_one_address_at_once(store: Store) -> None:
    if store.is_sqlite:
        pytest.skip("SQLite has one writer")
    inbox.keep(store, said("first", "1"), NOW)
    inbox.keep(store, said("second", "2"), NOW)
    inbox.keep(store, said("of another", "3", "8"), NOW)
    with store.begin() as one, store.begin() as two, store.begin() as three:
        rows = [inbox.first_waiting(tx, is_sqlite=False) for tx in (one, two, three)]
        assert [row.outside_id if row else None for row in rows] == ["1", "3", None]
