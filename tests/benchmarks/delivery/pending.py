"""The idle tick, start-up and memory with many pending rules and words, against few."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

from sqlalchemy import insert

from bot.records.store import Store
from bot.records.tables import outbox
from tests.benchmarks.delivery.plain import NOW, plain_farm, planted
from tests.benchmarks.delivery.sides import memory_mib
from tests.contract.stores import counted, is_full, opened, sqlite_at
from tests.faults.farm import Net

FEW, MANY = 1_000, 1_000_000
TICKS = 200


def measured() -> Iterator[str]:
    many = MANY if is_full() else 50_000
    found = {count: _with(count) for count in (FEW, many)}
    for count, (start_s, tick_s, memory) in found.items():
        yield (
            f"{count} pending: start {start_s:.3f} s, tick {tick_s * 1e3:.2f} ms, memory "
            f"{memory:.0f} MiB"
        )
    few, lots = found[FEW], found[many]
    yield f"tick {lots[1] / few[1]:.2f} x, memory {lots[2] - few[2]:+.1f} MiB"


def _with(count: int) -> tuple[float, float, float]:
    with tempfile.TemporaryDirectory() as folder:
        store = opened(sqlite_at(Path(folder)))
        later = NOW + timedelta(days=2)
        planted(store, count, later)
        for begin in range(0, count, 5000):
            with store.begin() as tx:
                tx.execute(
                    insert(outbox),
                    [_letter(number) for number in range(begin, min(begin + 5000, count))],
                )
        store.close()
        began = time.perf_counter()
        store = Store(sqlite_at(Path(folder)), counted())
        store.migrate()
        farm = plain_farm(store, Net())
        farm.engine.step(NOW)
        start_s = time.perf_counter() - began
        began = time.perf_counter()
        for _ in range(TICKS):
            farm.engine.step(NOW)
        tick_s = (time.perf_counter() - began) / TICKS
        memory = memory_mib()
        store.close()
    return start_s, tick_s, memory


def _letter(number: int) -> dict[str, object]:
    return {
        "key": f"k{number}",
        "channel": "test",
        "address": f"{number:016d}",
        "member_id": f"{number:016d}",
        "kind": "reminder",
        "about": [],
        "priority": number % 3,
        "text": "Stir your barrel",
        "buttons": [],
        "created_at": NOW,
        "not_before_at": NOW + timedelta(days=1),
        "status": "waiting",
    }
