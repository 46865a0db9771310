"""The outbox against a queue library on the same PostgreSQL, with 100,000 rows pending for later.

The library is procrastinate (`pip install -e .[bench]`), one worker that takes one job at a time.
A send appends a line to a file on both sides, and each is marked after its own send. Measured are
the outbox alone (queue against queue) and the whole chain from the due rule to the marked send,
which the library has no equal of.
"""

from __future__ import annotations

import importlib
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import psycopg

from bot.messages import Became, Outcome, Outgoing
from bot.records.store import Store
from tests.benchmarks.delivery.bulk import fill
from tests.benchmarks.delivery.plain import NOW, plain_farm, planted
from tests.contract.stores import empty_database, opened
from tests.faults.farm import Farm, Net
from tests.live.peers import postgres

PENDING, BURST, TURNS = 100_000, 300, 3
THEIRS = """
INSERT INTO procrastinate_jobs (task_name, queue_name, args, status, scheduled_at)
SELECT 'send', 'default', jsonb_build_object('number', i), 'todo', {when}
FROM generate_series(1, {count}) AS i
"""


class Appending(Net):
    """A send is a line at the end of a file."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.path = path

    def send(self, outgoing: Outgoing) -> Outcome:
        with self.path.open("a") as out:
            out.write(f"{outgoing.key}\n")
        return Outcome(Became.SENT)


def measured() -> Iterator[str]:
    with postgres.server() as running, tempfile.TemporaryDirectory() as folder:
        store = opened(empty_database(running, "ours"))
        fill(store, PENDING, NOW, NOW + timedelta(days=30))
        farm = plain_farm(store, Appending(Path(folder) / "ours"))
        peer = Peer(empty_database(running, "theirs"), Path(folder) / "theirs")
        rates: dict[str, list[float]] = {"outbox": [], "chain": [], "library": []}
        for turn in range(TURNS):
            chain, outbox = _ours(store, farm, PENDING + 1 + turn * BURST)
            rates["chain"].append(chain)
            rates["outbox"].append(outbox)
            rates["library"].append(peer.burst(BURST))
        store.close()
    best = {name: max(found) for name, found in rates.items()}
    yield (
        f"{PENDING} pending for later, bursts of {BURST}, best of {TURNS} in turns: outbox "
        f"{best['outbox']:.0f} a second, due rule to marked send {best['chain']:.0f}, library "
        f"{best['library']:.0f}: {best['outbox'] / best['library']:.1f} x and "
        f"{best['chain'] / best['library']:.1f} x"
    )


def _ours(store: Store, farm: Farm, first: int) -> tuple[float, float]:
    planted(store, BURST, NOW, first)
    began = time.perf_counter()
    while farm.exchange.due(NOW):
        pass
    worded = time.perf_counter()
    sent = 0
    while tried := farm.courier.drain(NOW):
        sent += tried
    ended = time.perf_counter()
    assert sent == BURST
    return sent / (ended - began), sent / (ended - worded)


class Peer:
    """The library's worker on a database of its own."""

    def __init__(self, address: str, path: Path) -> None:
        library: Any = importlib.import_module("procrastinate")
        self.conninfo = address.replace("postgresql+psycopg://postgres@/", "dbname=").replace(
            "?host=", " user=postgres host="
        )
        self.path = path
        self.app: Any = library.App(connector=library.PsycopgConnector(conninfo=self.conninfo))
        task: Callable[..., Any] = self.app.task(name="send", queue="default")
        task(self._send)
        with self.app.open():
            self.app.schema_manager.apply_schema()
        self._plant("now() + interval '30 days'", PENDING)

    def _send(self, number: int) -> None:
        with self.path.open("a") as out:
            out.write(f"{number}\n")

    def _plant(self, when: str, count: int) -> None:
        with psycopg.connect(self.conninfo, autocommit=True) as connection:
            connection.execute(THEIRS.format(when=when, count=count).encode())
            connection.execute("ANALYZE")

    def burst(self, count: int) -> float:
        """How many a second."""
        self._plant("now()", count)
        before = self._sent()
        began = time.perf_counter()
        self.app.run_worker(
            wait=False, concurrency=1, install_signal_handlers=False, listen_notify=False
        )
        took = time.perf_counter() - began
        assert self._sent() - before == count
        return count / took

    def _sent(self) -> int:
        return self.path.read_text().count("\n") if self.path.exists() else 0
