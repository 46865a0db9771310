"""An exchange against the same statements, values and commits in raw sqlite3 (both at FULL) and in
raw psycopg on the same server: message by message in turn, the middle one of each."""

from __future__ import annotations

import shutil
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import psycopg
from sqlalchemy import event

from bot.records.store import Store
from tests.contract.stores import empty_database, opened, sqlite_at
from tests.faults.farm import Farm
from tests.live.peers import postgres

NOW = datetime(2026, 3, 2, 7, tzinfo=UTC)
SAID = ("stirred", "leaf spray 3 tanks of 16 litres", "my barrels")
ROUNDS = 300


def measured() -> Iterator[str]:
    with postgres.server() as running:
        for number, text in enumerate(SAID):
            with tempfile.TemporaryDirectory() as folder:
                yield _shown("sqlite3", text, _once(Path(folder), text))
            address = empty_database(running, f"ours{number}")
            yield _shown("psycopg", text, _on_postgresql(running, address, text))


def _shown(floor: str, text: str, found: tuple[float, float, int, float]) -> str:
    ours_s, cpu_s, statements, raw_s = found
    return (
        f"{text!r}: {ours_s * 1e3:.2f} ms (CPU {cpu_s * 1e3:.2f}), raw {floor} "
        f"{raw_s * 1e3:.2f} ms for {statements // ROUNDS} statements: {ours_s / raw_s:.1f} x"
    )


def _prepared(store: Store, text: str) -> Farm:
    """Growers with a barrel each, and what they are about to say waits in the inbox."""
    farm = Farm(store)
    for who in range(ROUNDS):
        farm.says(f"{who}", "started 200 l barrel yesterday", NOW)
    farm.engine.step(NOW)
    for number in range(ROUNDS):
        farm.says(f"{number}", text, NOW)
    return farm


def _log_of(address: str) -> list[tuple[str, Any]]:
    """What the same messages ask of the database, noted on a copy: noting has its own price."""
    store = opened(address)
    log = _noted(store)
    farm = Farm(store)
    for _ in range(ROUNDS):
        farm.exchange.message(NOW)
    store.close()
    return log


def _noted(store: Store) -> list[tuple[str, Any]]:
    log: list[tuple[str, Any]] = []

    def note(_c: Any, _cursor: Any, statement: str, values: Any, _x: Any, many: bool) -> None:
        log.append((statement, [values] if not many else values))

    event.listen(store.engine, "before_cursor_execute", note)
    event.listen(store.engine, "commit", lambda _connection: log.append(("COMMIT", [()])))
    return log


def _in_turn(farm: Farm, plainly: Callable[[int], object]) -> tuple[float, float, float]:
    """The middle message's seconds: ours by the wall and of the processor, the plain one's."""
    ours, cpus, plain = [], [], []
    for number in range(ROUNDS):
        began, began_cpu = time.perf_counter(), time.process_time()
        farm.exchange.message(NOW)
        ours.append(time.perf_counter() - began)
        cpus.append(time.process_time() - began_cpu)
        began = time.perf_counter()
        plainly(number)
        plain.append(time.perf_counter() - began)
    return statistics.median(ours), statistics.median(cpus), statistics.median(plain)


def _messages(log: list[tuple[str, Any]]) -> list[list[tuple[str, Any]]]:
    """What was asked of the database message by message, each up to its commit."""
    found: list[list[tuple[str, Any]]] = [[]]
    for each in log:
        found[-1].append(each)
        if each[0] == "COMMIT":
            found.append([])
    return found[:ROUNDS]


def _once(folder: Path, text: str) -> tuple[float, float, int, float]:
    store = opened(sqlite_at(folder))
    farm = _prepared(store, text)
    store.close()
    for name in ("copy", "noted"):
        (folder / name).mkdir()
        shutil.copy(folder / "stirbell.sqlite", folder / name)
    log = _log_of(sqlite_at(folder / "noted"))
    raw = sqlite3.connect(folder / "copy" / "stirbell.sqlite", isolation_level=None)
    raw.execute("PRAGMA journal_mode=WAL")
    raw.execute("PRAGMA synchronous=FULL")
    cursor = raw.cursor()
    messages = _messages(log)

    def plainly(number: int) -> None:
        for statement, rows in messages[number]:
            for values in rows:
                cursor.execute(statement, values).fetchall()

    ours_s, cpu_s, raw_s = _in_turn(farm, plainly)
    raw.close()
    store.close()
    return ours_s, cpu_s, len(log), raw_s


def _on_postgresql(
    running: postgres.Server, address: str, text: str
) -> tuple[float, float, int, float]:
    store = opened(address)
    farm = _prepared(store, text)
    store.close()
    name = address.split("@/")[1].split("?", maxsplit=1)[0]
    copy = empty_database(running, f"{name}_copy", like=name)
    log = _log_of(empty_database(running, f"{name}_noted", like=name))
    conninfo = copy.replace("postgresql+psycopg://postgres@/", "dbname=").replace(
        "?host=", " user=postgres host="
    )
    with psycopg.connect(conninfo) as raw, raw.cursor() as cursor:
        messages = _messages(log)

        def plainly(number: int) -> None:
            for statement, rows in messages[number]:
                for values in rows:
                    cursor.execute(statement.encode(), values or None)
                    if cursor.description:
                        cursor.fetchall()

        ours_s, cpu_s, raw_s = _in_turn(farm, plainly)
    store.close()
    return ours_s, cpu_s, len(log), raw_s
