"""Telegram, on the double, for the suite over every channel."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from bot.channels import telegram
from bot.clock import system_now
from tests.contract.seam import Fate, until
from tests.live.peers.sqlite_door import SqliteDoor
from tests.live.peers.telegram_double import TOKEN, Double


@dataclass
class OnDouble:
    """Polling: the network gives an update again until an offset has passed it."""

    double: Double
    channel: telegram.Telegram
    address: str = "7"

    def arrives(self, text: str) -> None:
        self._last = self.double.says(text)

    def arrives_again(self) -> None:
        if self.double.waiting() == 0:
            self.double.push(self._last)

    def acknowledged(self) -> int:
        return self.double.confirmed

    def next_send(self, fate: Fate) -> bool:
        if fate == "refused":
            self.double.meets("sendMessage", code=403, description="Forbidden: blocked")
        elif fate == "later":
            self.double.meets(
                "sendMessage", code=429, description="Too Many", parameters={"retry_after": 3}
            )
        elif fate == "unknown":
            self.double.meets("sendMessage", drop=True, taken=True)
        return True

    def sent(self) -> list[tuple[str, str]]:
        return [(one.address, one.text) for one in self.double.sent]


@contextmanager
def opened(door: SqliteDoor, folder: Path) -> Iterator[OnDouble]:
    del folder
    with Double() as double:
        options = telegram.SETTINGS(TOKEN, api=double.api)
        channel = telegram.open_channel(options, door, system_now)
        try:
            assert until(lambda: double.count("getUpdates") > 0)
            yield OnDouble(double, channel)
        finally:
            channel.close()
