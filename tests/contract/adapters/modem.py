"""The village modem, on a stand-in for its daemon, for the suite over every channel."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from bot.channels import modem
from bot.clock import system_now
from tests.contract.seam import Fate
from tests.live.peers.daemon_double import DaemonDouble
from tests.live.peers.sqlite_door import SqliteDoor

CODES = {"sent": None, "refused": 1, "later": 38, "unknown": -1}
"""No such number; the network is out of order; the phone gave no reason."""


@dataclass
class OnDouble:
    """The daemon shows a part again until it is marked."""

    daemon: DaemonDouble
    channel: modem.Modem
    address: str = "+919876543210"
    minute: int = 0

    def arrives(self, text: str) -> None:
        self.minute += 1
        self.daemon.receive(self.address, text, at=f"2026-03-02 07:{self.minute:02}:00")

    def arrives_again(self) -> None:
        if self.daemon.processed():
            self.daemon.repeat()

    def acknowledged(self) -> int:
        return self.daemon.processed()

    def next_send(self, fate: Fate) -> bool:
        self.daemon.code = CODES[fate]
        return True

    def sent(self) -> list[tuple[str, str]]:
        return self.daemon.sent


@contextmanager
def opened(door: SqliteDoor, folder: Path) -> Iterator[OnDouble]:
    daemon = DaemonDouble(folder / "smsd.db")
    options = modem.SETTINGS(daemon.address, poll_s=0.01, wait_s=5.0)
    channel = modem.open_channel(options, door, system_now)
    try:
        yield OnDouble(daemon, channel)
    finally:
        channel.close()
        daemon.close()
