"""A message that nobody can handle, over both stores: it is set aside, and the rest goes on."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest
from sqlalchemy import Row, func, select

from bot.answering import Answering
from bot.exchange import MOST_TRIES
from bot.records.store import Store
from bot.records.tables import entry, inbox
from tests.faults.farm import Farm

NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)


@pytest.fixture
def farm(store: Store) -> Farm:
    farm = Farm(store)
    farm.barrels(("asha", "juma"), NOW)
    return farm


def messages(farm: Farm, text: str) -> list[Row[Any]]:
    with farm.store.reading() as tx:
        return [row for row in tx.execute(select(inbox)) if row.body["text"] == text]


def recorded(farm: Farm) -> int:
    with farm.store.reading() as tx:
        return int(tx.execute(select(func.count()).select_from(entry)).scalar_one())


def failing(monkeypatch: pytest.MonkeyPatch, inbox_id: int, meets: Callable[[], None]) -> None:
    """Handling this message fails after all of it was recorded, before it is committed."""
    settle = Answering.settle

    def fails(self: Answering, turn: Any, writing: Any, now: datetime) -> None:
        settle(self, turn, writing, now)
        if writing.exchange_id == inbox_id:
            meets()
            raise ValueError

    monkeypatch.setattr(Answering, "settle", fails)


def test_a_message_that_cannot_be_handled_is_set_aside_and_the_rest_goes_on(
    farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = recorded(farm)
    farm.says("asha", "stirred", NOW)
    farm.says("asha", "my barrels", NOW)
    farm.says("juma", "today", NOW)
    (poison,) = messages(farm, "stirred")
    failing(monkeypatch, poison.id, lambda: None)
    farm.net.arrived.clear()
    farm.engine.step(NOW)
    (found,) = messages(farm, "stirred")
    assert (found.status, found.cause, found.attempts) == ("bad", "ValueError", MOST_TRIES)
    assert recorded(farm) == before
    assert messages(farm, "my barrels")[0].status == messages(farm, "today")[0].status == "done"
    # Its sender hears of it, and of what was asked after it.
    assert sorted(each.address for each in farm.net.arrived) == ["asha", "asha", "juma"]


def test_what_failed_here_and_was_handled_by_another_worker_meanwhile_stays_handled(
    farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    farm.says("asha", "stirred", NOW)
    (one,) = messages(farm, "stirred")
    failing(monkeypatch, one.id, lambda: None)
    aside = farm.exchange._set_aside

    def late(row: Row[Any], fault: Exception, now: datetime) -> None:
        monkeypatch.undo()
        assert Farm(farm.store, farm.net).exchange.message(NOW)
        aside(row, fault, now)

    monkeypatch.setattr(farm.exchange, "_set_aside", late)
    before = recorded(farm)
    farm.exchange.message(NOW)
    farm.engine.step(NOW)
    (found,) = messages(farm, "stirred")
    assert (found.status, found.attempts) == ("done", 0)
    assert recorded(farm) == before + 1
