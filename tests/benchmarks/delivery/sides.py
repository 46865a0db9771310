"""One side of the burst in a process of its own, so that memory is its own."""

from __future__ import annotations

import json
import logging
import sys
import time
from datetime import timedelta
from pathlib import Path

from apscheduler.jobstores.sqlalchemy import SQLAlchemyJobStore
from apscheduler.schedulers.background import BackgroundScheduler

from bot.clock import system_now
from bot.messages import Became, Outcome, Outgoing
from tests.benchmarks.delivery.plain import NOW, plain_farm, planted
from tests.contract.stores import opened, sqlite_at
from tests.faults.farm import Net

SENT: list[float] = []
FILE: list[Path] = []
FAR = NOW + timedelta(days=36500)


def append(text: str) -> None:
    with FILE[0].open("a") as out:
        out.write(f"{text}\n")
    SENT.append(time.perf_counter())


def memory_mib() -> float:
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * 4096 / 2**20


def ours(folder: Path, count: int) -> dict[str, float]:
    store = opened(sqlite_at(folder))
    planted(store, count)

    def meets(outgoing: Outgoing) -> Outcome:
        append(outgoing.key)
        return Outcome(Became.SENT)

    net = Net(meets)
    farm = plain_farm(store, net)
    farm.engine.step(NOW - timedelta(minutes=1))
    idle, began = memory_mib(), time.perf_counter()
    # As `serve` does: the courier sends while the next members are worded.
    while farm.exchange.due(NOW):
        while farm.courier.drain(NOW):
            pass
        net.arrived.clear()
    return {"grew_mib": memory_mib() - idle, "began": began}


def jobs(folder: Path, count: int) -> dict[str, float]:
    logging.disable(logging.CRITICAL)
    scheduler = BackgroundScheduler(
        jobstores={"default": SQLAlchemyJobStore(f"sqlite:///{folder / 'jobs.sqlite'}")},
        timezone="UTC",
    )
    scheduler.start(paused=True)
    began = time.perf_counter()
    for number in range(100):
        scheduler.add_job(append, "date", run_date=FAR, args=["x"], id=f"x{number}")
    each_s = (time.perf_counter() - began) / 100
    at = system_now() + timedelta(seconds=5 + 2 * each_s * count)
    for number in range(count):
        scheduler.add_job(append, "date", run_date=at, args=[f"{number}"], id=f"{number}")
    idle = memory_mib()
    time.sleep(max(0.0, (at - system_now()).total_seconds() - 0.2))
    began = time.perf_counter() + max(0.0, (at - system_now()).total_seconds())
    scheduler.resume()
    quiet_s, seen = 0.0, -1
    while quiet_s < 3.0:
        time.sleep(0.1)
        quiet_s = quiet_s + 0.1 if len(SENT) == seen else 0.0
        seen = len(SENT)
    grew = memory_mib() - idle
    scheduler.shutdown(wait=False)
    return {"grew_mib": grew, "began": began}


def main(name: str, folder: str, count: str) -> None:
    FILE.append(Path(folder) / "sent")
    found = {"ours": ours, "jobs": jobs}[name](Path(folder), int(count))
    began = found.pop("began")
    found |= {
        "sent": len(SENT),
        "first_s": SENT[0] - began if SENT else 0.0,
        "all_s": SENT[-1] - began if SENT else 0.0,
    }
    sys.stdout.write(json.dumps(found))


if __name__ == "__main__":
    main(*sys.argv[1:])
