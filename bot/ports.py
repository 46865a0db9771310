"""What every channel is: the seam between the outside and the inbox and outbox."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar, Protocol

from bot.messages import Incoming, Manner, Outcome, Outgoing, Pace, Receipt


class Door(Protocol):
    """What a channel is handed: where it puts what came in. Each call commits before it returns.

    All three may be called from any thread.
    """

    def accept(self, incoming: Incoming) -> bool:
        """Keep the message under its (channel, outside id); False: it was there already."""
        ...

    def receipt(self, receipt: Receipt) -> None:
        """Keep a later word on a message sent before."""
        ...

    def moved(self, channel: str, address: str, new_address: str) -> None:
        """Rewrite an address that the network replaced."""
        ...

    def recall(self, channel: str, name: str) -> str:
        """A short value this channel kept, as a polling offset; empty if none."""
        ...

    def keep(self, channel: str, name: str, value: str) -> None:
        """Keep a short value for this channel over restarts."""
        ...

    def found(self, channel: str, key: str) -> bool:
        """Whether the outbox knows a message of this key as sent on this channel."""
        ...


class Channel(Protocol):
    """One way in and out.

    A channel module has `NAME`, `SETTINGS` (a msgspec.Struct of its settings; its prefix in the
    environment is `STIRBELL_<NAME>_`) and `open_channel(settings, door, now) -> Channel`, which
    starts listening. `now` is a callable that gives the moment (UTC).
    """

    name: ClassVar[str]
    manner: Manner
    pace: Pace
    polled: ClassVar[bool]
    """Only one copy of the program may hold it (polling, a modem)."""

    def send(self, outgoing: Outgoing) -> Outcome:
        """Try once, wait for the answer, never raise for what the outside does."""
        ...

    def close(self) -> None:
        """Stop listening; what was accepted stays accepted."""
        ...


Opener = Callable[..., Channel]
