"""The database goes away for a minute and comes back: nothing is lost, nothing goes twice.

PostgreSQL is stopped and started again; an SQLite file is locked by another process, longer than
the program waits for it.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import event, func, select
from sqlalchemy.exc import SQLAlchemyError

from bot import courier
from bot.assembly import House
from bot.messages import Became, Outcome, Outgoing
from bot.records.store import StoreError, is_passing
from bot.records.tables import inbox, outbox
from tests.contract.stores import empty_database, is_full, opened, sqlite_at
from tests.faults.farm import Net
from tests.faults.served import Served, served, until_true
from tests.live.peers import postgres

AWAY_S = {"postgresql": 60.0, "sqlite": 35.0} if is_full() else {"postgresql": 4.0, "sqlite": 4.0}
"""A minute; the file longer than the 30 s for which the program waits for a lock."""
ASKED = 40

LOCKS = """
import sqlite3, sys
base = sqlite3.connect(sys.argv[1], isolation_level=None, timeout=60)
base.execute("BEGIN EXCLUSIVE")
print("locked", flush=True)
sys.stdin.readline()
base.execute("ROLLBACK")
"""

Away = tuple[str, Callable[[], None], Callable[[], None]]


@contextmanager
def stopped_server() -> Iterator[Away]:
    with postgres.server() as running:
        yield empty_database(running, "away"), running.stop, running.start


@contextmanager
def locked_file(folder: Path) -> Iterator[Away]:
    address = sqlite_at(folder)
    opened(address).close()
    others: list[subprocess.Popen[str]] = []

    def lock() -> None:
        words = [sys.executable, "-c", LOCKS, str(folder / "stirbell.sqlite")]
        other = subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        others.append(other)
        assert other.stdout is not None
        assert other.stdout.readline() == "locked\n"

    def unlock() -> None:
        others[0].communicate("\n", timeout=60)

    yield address, lock, unlock


def impatient(house: House) -> None:
    """Wait for a lock less long than it lasts."""
    if house.store.is_sqlite:

        @event.listens_for(house.store.engine, "connect")
        def _wait(connection: object, _record: object) -> None:
            connection.execute("PRAGMA busy_timeout=700")  # type: ignore[attr-defined]

        house.store.engine.dispose()


def slowly(_outgoing: Outgoing) -> Outcome:
    time.sleep(0.01)
    return Outcome(Became.SENT)


def is_over(copy: Served) -> bool:
    with copy.house.store.reading() as tx:
        waits = select(func.count()).select_from(inbox).where(inbox.c.status == "waiting")
        goes = select(func.count()).where(outbox.c.status.in_(["waiting", "sending"]))
        return not tx.execute(waits).scalar_one() + tx.execute(goes).scalar_one()


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_a_database_that_is_away_for_a_minute_costs_a_minute_and_nothing_else(
    kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # A claim whose commit was done and not heard of comes again when its lease ends.
    monkeypatch.setattr(courier, "LEASE", timedelta(seconds=20))
    away = locked_file(tmp_path) if kind == "sqlite" else stopped_server()
    with away as (address, goes, comes), served(address, Net(slowly), impatient) as copy:
        for number in range(ASKED):
            copy.says(f"{number}", f"m{number}", "leaf spray 3 tanks of 16 litres")
        assert until_true(lambda: len(copy.net.arrived) >= 5)
        goes()
        # A channel that cannot hand a message over does not acknowledge it.
        with pytest.raises(Exception) as refused:  # noqa: PT011 - looked at just below
            copy.says("late", "late", "leaf spray 2 tanks of 16 litres")
        assert is_passing(refused.value)
        time.sleep(AWAY_S[kind])
        comes()
        assert until_true(lambda: _kept(copy))
        assert until_true(lambda: is_over(copy))
        with copy.house.store.reading() as tx:
            heard = tx.execute(select(inbox)).all()
            letters = tx.execute(select(outbox)).all()
    assert {row.status for row in heard} == {"done"}
    assert len(heard) == ASKED + 1
    answers = Counter(row.exchange_id for row in letters)
    assert set(answers) == {row.id for row in heard}
    assert set(answers.values()) == {1}
    arrived = Counter(each.key for each in copy.net.arrived)
    assert {row.status for row in letters} == {"sent"}
    assert set(arrived) == {row.key for row in letters}
    assert max(arrived.values()) == 1


def _kept(copy: Served) -> bool:
    try:
        copy.says("late", "late", "leaf spray 2 tanks of 16 litres")
    except (SQLAlchemyError, StoreError):
        return False
    return True
