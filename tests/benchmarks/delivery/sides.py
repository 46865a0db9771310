"""One side of the burst in a process of its own, so that memory is its own."""

from __future__ import annotations

import json
import logging
import sys
import time
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import sqlalchemy
from apscheduler.jobstores.sqlalchemy import SQLAlchemyJobStore
from apscheduler.schedulers.background import BackgroundScheduler

from bot.assembly import House
from bot.clock import system_now
from bot.messages import Outcome, Outgoing, Pace
from tests.benchmarks.delivery.plain import one_plain_kind, planted
from tests.contract.stores import sqlite_at
from tests.faults.farm import Net
from tests.faults.served import served, until_true

FIRST: list[float] = []
LAST: list[float] = []
COUNTED = [0]
FILE: list[Path] = []
LONGEST_S = 200.0
AT_ONCE = 10
"""As many sends at once as the scheduler's own pool has threads."""


def append(text: str) -> None:
    """A send: a line at the end of a file."""
    with FILE[0].open("a") as out:
        out.write(f"{text}\n")
    moment = time.perf_counter()
    if not FIRST:
        FIRST.append(moment)
    LAST[:] = [moment]
    COUNTED[0] += 1


def warmed() -> None:
    """One went before: what a running program did at its first is not measured."""
    assert until_true(lambda: COUNTED[0] == 1, 30.0)
    FIRST.clear()
    COUNTED[0] = 0


def memory_mib() -> float:
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * 4096 / 2**20


class Appending(Net):
    """Keeps nothing of what it sent, as a real network would not."""

    def send(self, outgoing: Outgoing) -> Outcome:
        append(outgoing.key)
        return self.meets(outgoing)


def ours(folder: Path, count: int) -> dict[str, float]:
    """`serve` as it is: its ticker, its exchange, its courier."""
    due_at: list[datetime] = []

    def prepare(house: House) -> None:
        due_at.append(system_now() + timedelta(seconds=6 + count / 2000))
        planted(house.store, count, due_at[0])
        planted(house.store, 1, due_at[0] - timedelta(seconds=3), first=count)
        exchange: Any = house.engine.exchange
        exchange.__init__(house.store, replace(exchange.rooms, **one_plain_kind()))

    with served(sqlite_at(folder), Appending(pace=Pace(at_once=AT_ONCE)), prepare):
        warmed()
        left_s = (due_at[0] - system_now()).total_seconds()
        time.sleep(max(0.0, left_s - 0.5))
        idle = memory_mib()
        began = time.perf_counter() + max(0.0, (due_at[0] - system_now()).total_seconds())
        most = [idle]

        def is_over() -> bool:
            most.append(memory_mib())
            del most[: most.index(max(most))]
            return COUNTED[0] >= count

        until_true(is_over, LONGEST_S)
        return {"grew_mib": max(most) - idle, "began": began, "late": left_s < 0}


def jobs(folder: Path, count: int, grace_s: int | None = 1) -> dict[str, float]:
    """One APScheduler job a reminder, in the same kind of file; `grace_s` 1 is its default."""
    logging.disable(logging.CRITICAL)
    engine = sqlalchemy.create_engine(f"sqlite:///{folder / 'jobs.sqlite'}")
    quick = [True]

    @sqlalchemy.event.listens_for(engine, "connect")
    def _prepare(connection: Any, _record: Any) -> None:
        # The jobs are planted without waiting for the disk; the burst is as durable as ours.
        connection.execute("PRAGMA journal_mode=WAL")
        connection.execute(f"PRAGMA synchronous={'OFF' if quick[0] else 'FULL'}")

    scheduler = BackgroundScheduler(
        jobstores={"default": SQLAlchemyJobStore(engine=engine)},
        timezone="UTC",
        job_defaults={"misfire_grace_time": grace_s},
    )
    scheduler.start()
    scheduler.add_job(append, "date", run_date=system_now(), args=["x"])
    warmed()
    scheduler.pause()
    far = system_now() + timedelta(days=36500)
    began = time.perf_counter()
    for number in range(100):
        scheduler.add_job(append, "date", run_date=far, args=["x"], id=f"x{number}")
    each_s = (time.perf_counter() - began) / 100
    at = system_now() + timedelta(seconds=5 + 2 * each_s * count)
    for number in range(count):
        scheduler.add_job(append, "date", run_date=at, args=[f"{number}"], id=f"{number}")
    quick[0] = False
    engine.dispose()
    late = at < system_now()
    time.sleep(max(0.0, (at - system_now()).total_seconds() - 0.5))
    idle = memory_mib()
    began = time.perf_counter() + max(0.0, (at - system_now()).total_seconds())
    scheduler.resume()
    most, quiet_s, seen = idle, 0.0, -1
    while quiet_s < 6.0 and COUNTED[0] < count:
        time.sleep(0.1)
        most = max(most, memory_mib())
        quiet_s = quiet_s + 0.1 if COUNTED[0] == seen and seen else 0.0
        seen = COUNTED[0]
        if time.perf_counter() - began > LONGEST_S:
            break
    scheduler.shutdown(wait=False)
    return {"grew_mib": most - idle, "began": began, "late": late}


def patient(folder: Path, count: int) -> dict[str, float]:
    """The same without its default: no job is dropped for being late."""
    return jobs(folder, count, None)


SIDES = {"ours": ours, "jobs": jobs, "patient": patient}


def main(name: str, folder: str, count: str) -> None:
    FILE.append(Path(folder) / "sent")
    found = SIDES[name](Path(folder), int(count))
    began = found.pop("began")
    found |= {
        "sent": COUNTED[0],
        "first_s": FIRST[0] - began if FIRST else 0.0,
        "all_s": LAST[0] - began if LAST else 0.0,
    }
    sys.stdout.write(json.dumps(found))


if __name__ == "__main__":
    main(*sys.argv[1:])
