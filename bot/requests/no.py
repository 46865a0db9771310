"""A bare no that answers nothing open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from bot.facts import Fact, Request
from bot.records.book import Answer, Book

KIND = "no"


@dataclass(frozen=True, slots=True)
class NothingToRefuse(Fact):
    """Nothing is open that this could answer."""

    words: ClassVar[str] = "yes.nothing-asked"


def answer(_request: Request, _book: Book) -> Answer:
    """Say that nothing was asked."""
    return Answer((NothingToRefuse(),))
