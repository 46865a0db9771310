"""`step(now)`: the only entry of the engine. Nothing inside sleeps or asks the time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from bot.courier import Courier
from bot.exchange import Exchange
from bot.records import outbox, rules
from bot.records.store import Store

MOST_MESSAGES = 200
SOONEST = timedelta(milliseconds=100)


@dataclass(slots=True)
class Engine:
    """Take what came in and what is due, word it, drain what may go, say when next."""

    store: Store
    exchange: Exchange
    couriers: Sequence[Courier]

    def step(self, now: datetime) -> datetime | None:
        """Do all that can be done at `now`; when to come again, None if nothing is planned."""
        for _ in range(MOST_MESSAGES):
            if not self.exchange.message(now):
                break
        while self.exchange.due(now):
            pass
        for courier in self.couriers:
            while courier.drain(now):
                pass
        return self.next_at(now)

    def next_at(self, now: datetime) -> datetime | None:
        """The next moment at which something falls due or may go out, after `now`."""
        with self.store.begin() as tx:
            planned = [rules.next_due(tx), outbox.next_at(tx)]
        found = min((each for each in planned if each is not None), default=None)
        return None if found is None else max(found, now + SOONEST)
