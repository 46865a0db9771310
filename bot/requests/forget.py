"""Delete me: everything personal goes, after one question."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from bot.facts import Fact, Option, Question, Request, Term
from bot.records.book import Answer, Book
from bot.records.changes import Forgotten

KIND = "forget"


@dataclass(frozen=True, slots=True)
class SureToForget(Fact):
    """Asks whether really everything personal is to be deleted; it cannot be undone."""

    words: ClassVar[str] = "forget.sure"


@dataclass(frozen=True, slots=True)
class AllForgotten(Fact):
    """The last word: it is deleted."""

    words: ClassVar[str] = "forget.done"


@dataclass(frozen=True, slots=True)
class NotForgotten(Fact):
    """Nothing was deleted."""

    words: ClassVar[str] = "forget.not-done"


def answer(request: Request, _book: Book) -> Answer:
    """Ask once; on yes delete, on no leave everything."""
    sure = request.slots.get("sure")
    if sure is None:
        options = (
            Option(value=True, label=Term("answer", "yes")),
            Option(value=False, label=Term("answer", "no")),
        )
        return Answer(
            question=Question(SureToForget(), request, "sure", options, valid_hours=1, listed=False)
        )
    if sure is not True:
        return Answer((NotForgotten(),))
    return Answer((AllForgotten(),), (Forgotten(),))
