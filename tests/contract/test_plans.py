"""What each statement of the engine looks at: an index, however many rows wait for later.

With 5,000 rows in every table the databases say how they would find what a tick, a claim, a
message, a due rule and a send ask for. A table that is read from end to end fails.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import event, text

from bot.records.store import Store
from tests.benchmarks.delivery.bulk import fill
from tests.faults.farm import Farm

NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)
MANY = 5_000
LARGE = {"rule", "outbox", "inbox", "fired", "entry", "member", "address", "subject", "membership"}
FROM_ITS_BEGINNING = {"ix_rule_due_at", "ix_inbox_next"}
"""Indexes whose first entry is what is asked for: read in order, up to a LIMIT."""

Asked = list[tuple[str, Any]]


@contextmanager
def listened(store: Store) -> Iterator[Asked]:
    """Every statement that is run meanwhile, with its values, each text once."""
    asked: dict[str, Any] = {}

    def note(_c: Any, _cursor: Any, statement: str, values: Any, _x: Any, many: bool) -> None:
        asked.setdefault(statement, values[0] if many else values)

    found: Asked = []
    event.listen(store.engine, "before_cursor_execute", note)
    try:
        yield found
    finally:
        event.remove(store.engine, "before_cursor_execute", note)
    found.extend(
        (statement, values)
        for statement, values in asked.items()
        if re.match(r"\s*(SELECT|UPDATE|DELETE|WITH)", statement)
    )


def read_whole(store: Store, statement: str, values: Any) -> list[str]:
    """The large tables that a statement would read from end to end."""
    with store.reading() as tx:
        if store.is_sqlite:
            rows = tx.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", values).all()
            return [line for *_numbers, line in rows if _is_whole_on_sqlite(line)]
        told = tx.exec_driver_sql(f"EXPLAIN (FORMAT JSON) {statement}", values).scalar_one()
    plan = told if isinstance(told, list) else json.loads(told)
    return [
        node["Relation Name"]
        for node in _nodes(plan[0]["Plan"])
        if node["Node Type"] == "Seq Scan" and node["Relation Name"] in LARGE
    ]


def _is_whole_on_sqlite(line: str) -> bool:
    found = re.match(r"SCAN (\w+)(?: USING (?:COVERING )?INDEX (\w+))?", line)
    if found is None or found[1].rstrip("_0123456789") not in LARGE:
        return False
    return found[2] not in FROM_ITS_BEGINNING


def _nodes(plan: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield plan
    for below in plan.get("Plans", ()):
        yield from _nodes(below)


@pytest.fixture
def farm(store: Store) -> Farm:
    """One grower among 5,000, whose barrel is due tomorrow; all others are due next year."""
    fill(store, MANY, NOW - timedelta(days=1), NOW + timedelta(days=365))
    farm = Farm(store)
    farm.settle("grower", "UTC", "07:00", NOW)
    farm.says("grower", "started 200 l barrel", NOW)
    farm.engine.step(NOW)
    return farm


def test_nothing_the_engine_asks_reads_a_large_table_from_end_to_end(farm: Farm) -> None:
    store = farm.store
    with listened(store) as asked:
        farm.engine.step(NOW)
        for text_ in ("stirred", "leaf spray 3 tanks of 16 litres", "my barrels", "undo", "today"):
            farm.says("grower", text_, NOW)
            farm.engine.step(NOW)
        farm.until(NOW + timedelta(days=1), NOW)
    assert len(asked) > 40
    assert any("SKIP LOCKED" in each for each, _values in asked) != store.is_sqlite
    faults = {
        statement: whole
        for statement, values in asked
        if (whole := read_whole(store, statement, values))
    }
    assert not faults, "\n".join(faults)


def test_a_statement_without_its_index_is_found(farm: Farm) -> None:
    with farm.store.begin() as tx:
        for name in ("ix_rule_due_at", "ix_outbox_waiting"):
            tx.execute(text(f"DROP INDEX {name}"))
    with listened(farm.store) as asked:
        farm.engine.step(NOW + timedelta(minutes=1))
    found = [each for each in asked if read_whole(farm.store, *each)]
    assert len(found) >= 2
