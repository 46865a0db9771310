"""An exchange against the same statements, values and commits in raw sqlite3, both at FULL."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import event

from tests.contract.stores import opened, sqlite_at
from tests.faults.farm import Farm

NOW = datetime(2026, 3, 2, 7, tzinfo=UTC)
SAID = ("stirred", "leaf spray 3 tanks of 16 litres", "my barrels")
ROUNDS = 300


def measured() -> Iterator[str]:
    for text in SAID:
        with tempfile.TemporaryDirectory() as folder:
            ours_s, cpu_s, statements, raw_s = _once(Path(folder), text)
        yield (
            f"{text!r}: {ours_s / ROUNDS * 1e3:.2f} ms (CPU {cpu_s / ROUNDS * 1e3:.2f}), raw "
            f"{raw_s / ROUNDS * 1e3:.2f} ms for {statements // ROUNDS} statements: "
            f"{ours_s / raw_s:.1f} x"
        )


def _once(folder: Path, text: str) -> tuple[float, float, int, float]:
    store = opened(sqlite_at(folder))
    farm = Farm(store)
    for who in range(20):
        farm.says(f"{who}", "started 200 l barrel yesterday", NOW)
    farm.engine.step(NOW)
    for number in range(20):
        farm.says(f"{number}", text, NOW)
    while farm.exchange.message(NOW):
        pass
    for number in range(ROUNDS):
        farm.says(f"{number % 20}", text, NOW)
    store.close()
    shutil.copy(folder / "stirbell.sqlite", folder / "copy.sqlite")
    log: list[tuple[str, Any]] = []

    def noted(_c: Any, _cursor: Any, statement: str, values: Any, _x: Any, many: bool) -> None:
        log.append((statement, [values] if not many else values))

    event.listen(store.engine, "before_cursor_execute", noted)
    event.listen(store.engine, "commit", lambda _connection: log.append(("COMMIT", [()])))
    began, began_cpu = time.perf_counter(), time.process_time()
    for _ in range(ROUNDS):
        farm.exchange.message(NOW)
    ours_s, cpu_s = time.perf_counter() - began, time.process_time() - began_cpu
    store.close()
    raw = sqlite3.connect(folder / "copy.sqlite", isolation_level=None)
    raw.execute("PRAGMA journal_mode=WAL")
    raw.execute("PRAGMA synchronous=FULL")
    cursor = raw.cursor()
    began = time.perf_counter()
    for statement, rows in log:
        for values in rows:
            cursor.execute(statement, values).fetchall()
    raw_s = time.perf_counter() - began
    raw.close()
    return ours_s, cpu_s, len(log), raw_s
