"""Rows that the suites of the records begin with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

from sqlalchemy import Connection, insert, select

from bot.facts import Rule
from bot.records import outbox, people, rules
from bot.records.store import Store
from bot.records.tables import rule
from bot.records.tables import subject as subjects

NOW = datetime(2026, 3, 2, 7, tzinfo=UTC)
LEASE = timedelta(seconds=60)


def grower(store: Store, name: str = "m1", address: str = "7") -> str:
    with store.begin() as tx:
        people.welcome(
            tx,
            member_id=name,
            group_id=f"g-{name}",
            channel="test",
            address=address,
            now=NOW,
        )
    return name


def letter(key: str, address: str = "7", **changed: object) -> outbox.Letter:
    plain = outbox.Letter(key, "test", address, "m1", f"text of {key}", "reply", outbox.REPLY)
    return replace(plain, **changed)  # type: ignore[arg-type]


def put(store: Store, *letters: outbox.Letter) -> list[int | None]:
    with store.begin() as tx:
        rows = outbox.put(tx, letters, NOW)
        return [rows.get(each.key) for each in letters]


def claimed(store: Store, token: str, now: datetime = NOW, limit: int = 10) -> list[str]:
    with store.begin() as tx:
        return [row.key for row in outbox.claim(tx, "test", token, now, LEASE, limit)]


def daily(store: Store, **changed: object) -> int:
    grower(store)
    with store.begin() as tx:
        tx.execute(
            insert(subjects).values(
                id="s1", kind="batch", code="B1", group_id="g-m1", zone="UTC", opened_at=NOW
            )
        )
        wanted = Rule("stir", "s1", "", None, "UTC", date(2026, 3, 2), time(8), 1)
        rules.reconcile(tx, "s1", [replace(wanted, **changed)], "m1", NOW)  # type: ignore[arg-type]
        return int(tx.execute(select(rule.c.id)).scalar_one())


def taken(tx: Connection, now: datetime) -> Sequence[rules.Taken]:
    found = rules.take(rules.waiting(tx, ["m1"], now).get("m1", ()), now, now)
    rules.settle(tx, [(each, "said", 1) for each in found], now)
    return found


def take(store: Store, now: datetime) -> Sequence[rules.Taken]:
    with store.begin() as tx:
        return taken(tx, now)
