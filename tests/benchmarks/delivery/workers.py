"""1, 2 and 4 workers on one PostgreSQL, 20 ms a send."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator

from sqlalchemy import func, select

from bot.messages import Became, Outcome, Outgoing
from bot.records.tables import outbox
from tests.benchmarks.delivery.plain import NOW, plain_farm, planted
from tests.contract.stores import opened, server
from tests.faults.farm import Net

COUNT = 600
SEND_S = 0.02


def measured() -> Iterator[str]:
    with server() as fresh:
        for workers in (1, 2, 4):
            store = opened(fresh())
            planted(store, COUNT)
            nets = [Net(_slow) for _ in range(workers)]
            farms = [plain_farm(store, net) for net in nets]
            began = time.perf_counter()
            threads = [threading.Thread(target=farm.engine.step, args=(NOW,)) for farm in farms]
            for thread in threads:
                thread.start()
            for thread in threads:
                thread.join()
            farms[0].engine.step(NOW)
            took = time.perf_counter() - began
            arrived = [each.key for net in nets for each in net.arrived]
            with store.begin() as tx:
                sent = tx.execute(
                    select(func.count()).where(outbox.c.status == "sent")
                ).scalar_one()
            yield (
                f"{workers} workers: {COUNT / took:.0f} a second, sent {sent}, doubled "
                f"{len(arrived) - len(set(arrived))}"
            )
            store.close()


def _slow(_outgoing: Outgoing) -> Outcome:
    time.sleep(SEND_S)
    return Outcome(Became.SENT)
