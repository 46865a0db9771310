"""`step(now)`: the only entry of the engine. Nothing inside sleeps or asks the time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from bot.courier import Courier
from bot.exchange import Exchange
from bot.records import outbox, rules
from bot.records.store import Store
from bot.reminding import A_BITE

MOST_MESSAGES = 50
SOONEST = timedelta(milliseconds=100)


def _nobody() -> None:
    return


@dataclass(slots=True)
class Engine:
    """Take what came in and what is due, word it, drain what may go, say when next."""

    store: Store
    exchange: Exchange
    couriers: dict[str, Courier]

    def step(self, now: datetime) -> datetime | None:
        """Do all that can be done at `now`; when to come again, None if nothing is planned."""
        self.take(lambda: now, lambda: False)
        for courier in list(self.couriers.values()):
            while courier.drain(now):
                pass
        return self.next_at(now)

    def take(
        self,
        now: Callable[[], datetime],
        ending: Callable[[], bool],
        written: Callable[[], None] = _nobody,
    ) -> None:
        """Handle all that came in and all that is due, messages first, until `ending`.

        `written` is called as soon as there may be words to send: nobody waits for the end of a
        burst, and the first of it are not kept waiting by the many behind them.
        """
        going, bite = True, 1
        while going and not ending():
            going = False
            for _ in range(MOST_MESSAGES):
                if ending() or not self.exchange.message(now()):
                    break
                going = True
                written()
            if not ending() and self.exchange.due(now(), bite):
                going, bite = True, min(2 * bite, A_BITE)
                written()

    def next_due(self, now: datetime) -> datetime | None:
        """When the next reminder falls due after `now`; None while one is due and waits."""
        with self.store.reading() as tx:
            found = rules.next_due(tx)
        return found if found is not None and found > now else None

    def next_at(self, now: datetime) -> datetime | None:
        """The next moment at which something falls due or may go out, after `now`."""
        with self.store.reading() as tx:
            planned = [rules.next_due(tx), outbox.next_at(tx, sorted(self.couriers))]
        found = min((each for each in planned if each is not None), default=None)
        return None if found is None else max(found, now + SOONEST)
