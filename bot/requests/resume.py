"""Begin again after a stop."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from bot.facts import Fact, Request
from bot.records.book import Answer, Book
from bot.records.changes import Resumed

KIND = "resume"


@dataclass(frozen=True, slots=True)
class Back(Fact):
    """The member is written to again."""

    words: ClassVar[str] = "resume.back"


def answer(_request: Request, _book: Book) -> Answer:
    """Write to the member again."""
    return Answer((Back(),), (Resumed(),))
