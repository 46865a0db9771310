"""A bare number that answers nothing open."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar

from bot.facts import Fact, Request
from bot.records.book import Answer, Book

KIND = "number"


@dataclass(frozen=True, slots=True)
class NumberOfWhat(Fact):
    """Asks what the number is of, with an example."""

    words: ClassVar[str] = "number.of-what"
    n: Decimal


@dataclass(frozen=True, slots=True)
class SomeNumber(Fact):
    """A number of nothing known."""

    words: ClassVar[str] = "yes.nothing-asked"


def answer(request: Request, _book: Book) -> Answer:
    """Ask what it is a number of."""
    n = request.slots.get("n")
    return Answer((NumberOfWhat(Decimal(n)) if n is not None else SomeNumber(),))
