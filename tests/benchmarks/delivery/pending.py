"""The idle tick, start-up and memory with very many pending rules and words, against a thousand."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from statistics import median

from bot.records.store import Store
from tests.benchmarks.delivery.bulk import fill
from tests.benchmarks.delivery.plain import NOW, plain_farm
from tests.benchmarks.delivery.sides import memory_mib
from tests.contract.stores import counted, is_full, opened, sqlite_at
from tests.faults.farm import Farm, Net

FEW, MANY = 1_000, 1_000_000 if is_full() else 50_000
TICKS, TURNS = 20, 15


def measured() -> Iterator[str]:
    with tempfile.TemporaryDirectory() as place:
        folders = {count: Path(place) / f"{count}" for count in (FEW, MANY)}
        for count, folder in folders.items():
            folder.mkdir()
            store = opened(sqlite_at(folder))
            tables = ("grower_group", "member", "address", "subject", "rule", "outbox")
            fill(store, count, NOW, NOW + timedelta(days=2), *tables)
            store.close()
        sides = {count: _side(folder) for count, folder in folders.items()}
        for count, side in sides.items():
            yield (
                f"{count} rules and {count} words pending: first tick done {side['start_s']:.3f} s "
                f"after opening, memory {side['memory_mib']:.1f} MiB"
            )
        ticks = _ticks(folders)
    few, many = ticks[FEW], ticks[MANY]
    grew = sides[MANY]["memory_mib"] - sides[FEW]["memory_mib"]
    yield (
        f"idle tick {many * 1e3:.2f} against {few * 1e3:.2f} ms: {many / few:.2f} x, memory "
        f"{grew:+.1f} MiB"
    )


def _ticks(folders: dict[int, Path]) -> dict[int, float]:
    """The median tick of each, taken in turns."""
    farms = {count: _farm(folder) for count, folder in folders.items()}
    took: dict[int, list[float]] = {count: [] for count in farms}
    for _turn in range(TURNS):
        for count, farm in farms.items():
            for _tick in range(TICKS):
                began = time.perf_counter()
                farm.engine.step(NOW)
                took[count].append(time.perf_counter() - began)
    for farm in farms.values():
        farm.store.close()
    return {count: median(found) for count, found in took.items()}


def _farm(folder: Path) -> Farm:
    store = Store(sqlite_at(folder), counted())
    store.migrate()
    return plain_farm(store, Net())


def _side(folder: Path) -> dict[str, float]:
    """Start-up and memory, in a process of its own."""
    words = [sys.executable, "-m", "tests.benchmarks.delivery.pending", str(folder)]
    told = subprocess.run(words, capture_output=True, text=True, check=True)
    found: dict[str, float] = json.loads(told.stdout)
    return found


def main(folder: str) -> None:
    began = time.perf_counter()
    farm = _farm(Path(folder))
    farm.engine.step(NOW)
    start_s = time.perf_counter() - began
    for _tick in range(200):
        farm.engine.step(NOW)
    sys.stdout.write(json.dumps({"start_s": start_s, "memory_mib": memory_mib()}))
    farm.store.close()


if __name__ == "__main__":
    main(*sys.argv[1:])
