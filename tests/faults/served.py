"""`Serving` on a real database with its real ticker; only the network is in memory."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any, cast

import msgspec

from bot.assembly import House, assemble
from bot.clock import SharedClock, elapsed_s
from bot.messages import Incoming
from bot.serving import Serving
from bot.settings import Settings
from bot.ticker import Ticker
from tests.faults.farm import Net

MODULE = "bot.channels.test"


class NoSettings(msgspec.Struct):
    """The network in memory needs none."""


@dataclass
class Served:
    """A running copy, and what it said to its operator."""

    serving: Serving
    net: Net
    told: list[str] = field(default_factory=list)

    @property
    def house(self) -> House:
        return self.serving.house

    def says(self, who: str, outside_id: str, text: str) -> None:
        """A message comes in, as a channel hands it over: again until it was kept."""
        incoming = Incoming("test", outside_id, who, text, self.serving.clock.now())
        self.house.door.accept(incoming)

    def texts_to(self, who: str) -> list[str]:
        return [each.text for each in list(self.net.arrived) if each.address == who]


def until_true(what: Callable[[], object], seconds: float = 60.0) -> bool:
    end = time.monotonic() + seconds
    while not what():
        if time.monotonic() > end:
            return False
        time.sleep(0.02)
    return True


@contextmanager
def served(
    address: str, net: Net, prepare: Callable[[House], None] = lambda _house: None
) -> Iterator[Served]:
    """One copy of the running bot on a thread of this process; ended cleanly."""
    known: dict[str, Any] = cast("dict[str, Any]", sys.modules)
    known[MODULE] = SimpleNamespace(SETTINGS=NoSettings, open_channel=lambda *_given: net)
    clock = SharedClock()

    def newcomer(_incoming: Incoming) -> dict[str, str]:
        return {"zone": "UTC", "language": "en"}

    house = assemble(address, now=clock.now, environ={}, names=(), newcomer=newcomer)
    prepare(house)
    told: list[str] = []
    serving = Serving(house, Settings(), ("test",), clock, Ticker(elapsed_s), "one", told.append)
    thread = threading.Thread(target=serving.run, daemon=True)
    thread.start()
    try:
        yield Served(serving, net, told)
    finally:
        serving.stopping.set()
        thread.join(timeout=60)
        del known[MODULE]
    assert not thread.is_alive()
