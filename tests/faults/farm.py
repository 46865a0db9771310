"""Growers on a database, with the real rooms, a network in memory and a clock that is handed in."""

from __future__ import annotations

import functools
import itertools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, ClassVar

from sqlalchemy import select, update

from bot.assembly import rooms
from bot.courier import Courier
from bot.engine import Engine
from bot.exchange import Exchange
from bot.messages import Became, Incoming, Manner, Outcome, Outgoing, Pace
from bot.posting import Rooms
from bot.records import inbox, people
from bot.records.store import Store
from bot.records.tables import member, outbox


@dataclass
class Net:
    """A network in memory; `meets` says what the next sends come to."""

    meets: Callable[[Outgoing], Outcome] = lambda _outgoing: Outcome(Became.SENT)
    pace: Pace = field(default_factory=Pace)
    manner: Manner = field(default_factory=Manner)
    arrived: list[Outgoing] = field(default_factory=list)
    name: ClassVar[str] = "test"
    polled: ClassVar[bool] = False

    def send(self, outgoing: Outgoing) -> Outcome:
        outcome = self.meets(outgoing)
        if outcome.became in {Became.SENT, Became.UNKNOWN}:
            self.arrived.append(outgoing)
        return outcome

    def close(self) -> None:
        return


@functools.cache
def prepared() -> Rooms:
    """The rooms, once: reading every language takes its time."""
    channels: dict[str, Any] = {"test": Net()}
    return rooms(channels, {}, lambda _incoming: {"zone": "UTC", "language": "en"})


class Farm:
    """The engine on one store, with one network."""

    def __init__(self, store: Store, net: Net | None = None) -> None:
        self.store = store
        self.net = net or Net()
        self.courier = Courier(store, self.net, again=lambda _member: "Again:")
        self.exchange = Exchange(store, prepared())
        self.engine = Engine(store, self.exchange, {"test": self.courier})
        self._numbers = itertools.count()
        self.accepted: list[str] = []
        """The outside ids of what came in and was acknowledged."""

    def settle(self, who: str, zone: str, hour: str, now: datetime) -> None:
        """Somebody known, with a zone and an hour."""
        with self.store.begin() as tx:
            people.welcome(
                tx,
                member_id=f"m{who}",
                group_id=f"g{who}",
                channel="test",
                address=who,
                now=now,
                language="en",
                zone=zone,
            )
            tx.execute(update(member).where(member.c.id == f"m{who}").values(hour=hour))

    def says(self, who: str, text: str, now: datetime) -> None:
        """A message comes in; the next step handles it."""
        number = f"m{next(self._numbers)}"
        inbox.keep(self.store, Incoming("test", number, who, text, now), now)
        self.accepted.append(number)

    def barrels(self, whose: Iterable[str], now: datetime) -> None:
        """Somebody of each name, with a barrel that is to be stirred at 07:00 UTC."""
        for who in whose:
            self.settle(who, "UTC", "07:00", now)
            self.says(who, "started 200 l barrel", now)
        self.engine.step(now)

    def until(self, there: datetime, now: datetime) -> None:
        """Step from event to event up to a moment."""
        following = self.engine.step(now)
        while following is not None and following <= there:
            now = following
            following = self.engine.step(now)
        self.engine.step(there)

    def reminders(self) -> Sequence[Any]:
        """Every reminder that was written, oldest first."""
        with self.store.reading() as tx:
            return tx.execute(
                select(outbox).where(outbox.c.kind == "reminder").order_by(outbox.c.id)
            ).all()
