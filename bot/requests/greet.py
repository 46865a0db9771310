"""A greeting."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from bot.facts import Fact, Request
from bot.records.book import Answer, Book

KIND = "greet"


@dataclass(frozen=True, slots=True)
class Greeting(Fact):
    """A greeting, and the first things a member can ask."""

    words: ClassVar[str] = "greet.greeting"


def answer(_request: Request, _book: Book) -> Answer:
    """Greet, and say how to ask."""
    return Answer((Greeting(),))
