"""Thanks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from bot.facts import Fact, Request
from bot.records.book import Answer, Book

KIND = "thanks"


@dataclass(frozen=True, slots=True)
class Welcome(Fact):
    """A short word in return."""

    words: ClassVar[str] = "thanks.welcome"


def answer(_request: Request, _book: Book) -> Answer:
    """A short word in return."""
    return Answer((Welcome(),))
