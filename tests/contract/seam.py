"""What a channel's adapter gives to the one suite over every channel.

To add a channel: `tests/contract/adapters/<name>.py` with

    opened(door, folder) -> context manager of an Adapter

which starts the channel's peer on loopback, opens the channel on it, and closes both.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Literal, Protocol

from bot.ports import Channel
from tests.live.peers.sqlite_door import SqliteDoor

Fate = Literal["sent", "refused", "later", "unknown"]


class Adapter(Protocol):
    """One channel, open, with the peer that stands for the network."""

    @property
    def channel(self) -> Channel:
        """The open channel."""
        ...

    @property
    def address(self) -> str:
        """Somebody who can be written to."""
        ...

    def arrives(self, text: str) -> None:
        """The network hands the channel one new message, and does not mind being refused."""
        ...

    def arrives_again(self) -> None:
        """The network, which saw no acknowledgement, hands it the last message once more."""
        ...

    def acknowledged(self) -> int:
        """How many messages the network has seen acknowledged."""
        ...

    def next_send(self, fate: Fate) -> bool:
        """Prepare the network for the next send; False: on this network that cannot happen."""
        ...

    def sent(self) -> list[tuple[str, str]]:
        """Address and text of all that the network took."""
        ...


Opened = Callable[[SqliteDoor, Path], AbstractContextManager[Adapter]]


def until(holds: Callable[[], bool], *, within_s: float = 5.0) -> bool:
    """Whether it comes to hold in time."""
    end = time.monotonic() + within_s
    while not holds():
        if time.monotonic() > end:
            return False
        time.sleep(0.005)
    return True
