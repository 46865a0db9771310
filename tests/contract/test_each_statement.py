"""Crash at each statement in turn and begun again: everything is as if it had happened once."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import select

from bot.records.store import Store
from bot.records.tables import entry, fired, inbox, outbox, question, rule, subject
from tests.faults.dying import Crash, dies_at
from tests.faults.farm import Farm

NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)
MORNING = datetime(2026, 3, 3, 7, tzinfo=UTC)


SAID = ("started 200 l barrel", "stirred", "leaf spray 3 tanks of 16 litres", "used 5 l", "undo")


def plain(value: Any) -> Any:
    """Without numbers and identities, which a run that was cut off has used up."""
    words = json.dumps(value, default=str, sort_keys=True)
    words = re.sub(r'"[0-9a-f]{16}"', '"#"', words)
    return re.sub(r"(in|due):\d+", r"\1:#", words)


def record_of(store: Store, who: str) -> list[str]:
    """All that is kept of one member."""
    mine = f"m{who}"
    queries = (
        select(inbox.c.status, inbox.c.cause).where(inbox.c.address == who),
        select(
            outbox.c.key,
            outbox.c.kind,
            outbox.c.text,
            outbox.c.status,
            outbox.c.about,
            outbox.c.not_before_at,
            outbox.c.valid_until,
        ).where(outbox.c.address == who),
        select(subject.c.kind, subject.c.code, subject.c.closed_at, subject.c.void).where(
            subject.c.member_id == mine
        ),
        select(entry.c.kind, entry.c.at, entry.c.data).where(entry.c.member_id == mine),
        select(rule.c.kind, rule.c.key, rule.c.at, rule.c.due_on, rule.c.due_at).where(
            rule.c.member_id == mine
        ),
        select(fired.c.due_on, fired.c.became, fired.c.outbox_id.is_(None))
        .join(rule, rule.c.id == fired.c.rule_id)
        .where(rule.c.member_id == mine),
        select(question.c.closed_at, question.c.expires_at).where(question.c.member_id == mine),
    )
    with store.reading() as tx:
        return [
            plain(sorted(plain(list(row)) for row in tx.execute(query).all())) for query in queries
        ]


@pytest.mark.parametrize("place", range(len(SAID)))
def test_an_exchange_that_is_killed_at_any_statement_happens_once(store: Store, place: int) -> None:
    farm = Farm(store)
    number, ended = 0, False
    while not ended:
        who = f"{number}"
        farm.settle(who, "UTC", "07:00", NOW)
        for before in SAID[:place]:
            farm.says(who, before, NOW)
            farm.exchange.message(NOW)
        farm.says(who, SAID[place], NOW)
        try:
            with dies_at(store, number):
                farm.exchange.message(NOW)
            ended = number > 0
        except Crash:
            assert "waiting" in record_of(store, who)[0]
            farm.exchange.message(NOW)
        number += 1
    undisturbed = record_of(store, f"{number - 1}")
    assert "waiting" not in undisturbed[0]
    for killed in range(number - 1):
        assert record_of(store, f"{killed}") == undisturbed, f"killed at statement {killed}"
    assert number > 10


def test_a_bite_of_reminders_that_is_killed_at_any_statement_happens_once(store: Store) -> None:
    farm = Farm(store)
    many = 40
    for who in range(many):
        farm.settle(f"{who}", "UTC", "07:00", NOW)
        farm.says(f"{who}", "started 200 l barrel", NOW)
        farm.exchange.message(NOW)
    numbers = 0
    for number in range(many):
        try:
            with dies_at(store, number):
                assert farm.exchange.due(MORNING, 1) == 1
        except Crash:
            numbers += 1
            assert farm.exchange.due(MORNING, 1) == 1
    assert farm.exchange.due(MORNING + timedelta(minutes=1)) == 0
    assert numbers > 8
    records = [record_of(store, f"{who}") for who in range(many)]
    assert all(record == records[-1] for record in records)
    assert all("Stir B1 today" in record[1] for record in records)
