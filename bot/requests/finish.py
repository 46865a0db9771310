"""A barrel was emptied, or given up."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from bot.craft import batches
from bot.facts import Fact, Request
from bot.records import meant
from bot.records.book import Answer, Book
from bot.records.changes import Closed

KIND = "finish"


@dataclass(frozen=True, slots=True)
class Finished(Fact):
    """The barrel is over; no reminders come for it any more."""

    words: ClassVar[str] = "finish.finished"
    barrels: tuple[str, ...]


def answer(request: Request, book: Book) -> Answer:
    """Close the barrel named, or the only one."""
    known = book.open(batches.SUBJECT, batches.fold)
    chosen = meant.barrels(known, request)
    if isinstance(chosen, Answer):
        return chosen
    if len(chosen) > 1 and not request.slots.get("which"):
        return meant.ask_which(chosen, request)
    on = min(request.slots.get("on", book.today), book.today)
    return Answer(
        (Finished(tuple(each.code for each in chosen)),),
        tuple(Closed(each.id, "finish", book.said_at, {"on": on.isoformat()}) for each in chosen),
    )
