"""The terminal: every `@name` is an address, every line a message, every answer a line."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import ClassVar

import msgspec

from bot.messages import Became, Incoming, Manner, Outcome, Outgoing, Pace
from bot.ports import Door

NAME = "terminal"
INTERACTIVE = True


class SETTINGS(msgspec.Struct, frozen=True):
    """Nothing to set; `length` and `alphabet` imitate a phone for tests and the curious."""

    length: int = 160
    alphabet: str = "any"
    pages: int = 2
    forgeable: bool = False


class Terminal:
    """Answers are handed to `printed`, one call a message."""

    name: ClassVar[str] = NAME
    polled: ClassVar[bool] = False

    def __init__(self, settings: SETTINGS, door: Door, now: Callable[[], datetime]) -> None:
        self.manner = Manner(
            one_message=settings.length,
            alphabet=settings.alphabet,
            pages=settings.pages,
            forgeable=settings.forgeable,
        )
        self.pace = Pace()
        self.printed: Callable[[Outgoing], None] = lambda _outgoing: None
        self._door = door
        self._now = now

    def typed(self, who: str, text: str, outside_id: str) -> bool:
        """Keep one typed line as a message."""
        return self._door.accept(
            Incoming(
                channel=self.name,
                outside_id=outside_id,
                address=who,
                text=text,
                sent_at=self._now(),
                raw=text,
            )
        )

    def send(self, outgoing: Outgoing) -> Outcome:
        """Print; a terminal that is there cannot refuse."""
        self.printed(outgoing)
        return Outcome(Became.SENT)

    def close(self) -> None:
        """Nothing is held."""


def open_channel(settings: SETTINGS, door: Door, now: Callable[[], datetime]) -> Terminal:
    """The terminal channel."""
    return Terminal(settings, door, now)
