"""Send nothing more."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from bot.facts import Fact, Request
from bot.records.book import Answer, Book
from bot.records.changes import Stopped

KIND = "stop"


@dataclass(frozen=True, slots=True)
class WillStop(Fact):
    """The one word that confirms a stop: nothing more is sent, and how to begin again."""

    words: ClassVar[str] = "stop.will-stop"


def answer(_request: Request, _book: Book) -> Answer:
    """Confirm once; nothing is sent after it."""
    return Answer((WillStop(),), (Stopped(),))
