"""A bare yes that answers nothing open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from bot.facts import Fact, Request
from bot.records.book import Answer, Book

KIND = "yes"


@dataclass(frozen=True, slots=True)
class NothingAsked(Fact):
    """Nothing is open that this could answer."""

    words: ClassVar[str] = "yes.nothing-asked"


def answer(_request: Request, _book: Book) -> Answer:
    """Say that nothing was asked."""
    return Answer((NothingAsked(),))
