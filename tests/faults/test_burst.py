"""A burst of reminders and somebody who asks in the middle of it: the answer does not wait."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from sqlalchemy import func, select

from bot import serving
from bot.answering import NothingMore
from bot.assembly import House
from bot.clock import system_now
from bot.records.changes import Answer
from bot.records.tables import rule
from tests.benchmarks.delivery.plain import planted
from tests.faults.farm import Net
from tests.faults.served import served, until_true

DUE = 2000


def two_thousand_are_due(house: House) -> None:
    """Each member has one plain reminder, due a minute ago."""
    planted(house.store, DUE, system_now() - timedelta(minutes=1))
    stir = SimpleNamespace(
        KIND="stir", ORDER=1, USEFUL_HOURS=12, facts=lambda _due, _book: Answer((NothingMore(),))
    )
    reminders: Any = {"stir": stir}
    exchange: Any = house.engine.exchange
    exchange.__init__(house.store, replace(exchange.rooms, reminders=reminders))


def test_a_question_in_a_burst_of_reminders_is_answered_before_the_burst_is_over(
    address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(serving, "GRACE_S", 0.0)
    net = Net()
    with served(address, net, two_thousand_are_due) as copy:
        assert until_true(lambda: net.arrived)
        with copy.house.store.reading() as tx:
            unsaid = tx.execute(select(func.count()).where(rule.c.due_at <= system_now()))
            # The first are on their way while most have not been worded yet.
            assert unsaid.scalar_one() > DUE / 2
        before = len(net.arrived)
        copy.says("new", "m1", "leaf spray 3 tanks of 16 litres")
        assert until_true(lambda: copy.texts_to("new"))
        assert "4 L" in copy.texts_to("new")[0]
        place = next(n for n, each in enumerate(net.arrived) if each.address == "new")
        assert place - before < DUE / 8
