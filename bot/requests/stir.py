"""A barrel was stirred."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from bot.craft import batches
from bot.facts import Fact, Request
from bot.records import meant
from bot.records.book import Answer, Book
from bot.records.changes import Recorded

KIND = "stir"


@dataclass(frozen=True, slots=True)
class Stirred(Fact):
    """Which barrels were stirred, and on which day."""

    words: ClassVar[str] = "stir.stirred"
    barrels: tuple[str, ...]
    on: date


@dataclass(frozen=True, slots=True)
class NotStirred(Fact):
    """It was said that they were not stirred; that is kept as well."""

    words: ClassVar[str] = "stir.not-stirred"
    barrels: tuple[str, ...]
    on: date


@dataclass(frozen=True, slots=True)
class NothingToStir(Fact):
    """No barrel of the group is fermenting."""

    words: ClassVar[str] = "stir.nothing"


def answer(request: Request, book: Book) -> Answer:
    """Keep the stir of the barrels named, or of all that ferment."""
    slots = request.slots
    live = [each for each in book.open(batches.SUBJECT, batches.fold) if each.is_live]
    fermenting = [each for each in live if each.state == "fermenting"]
    if not fermenting and not slots.get("which"):
        return Answer((NothingToStir(),))
    chosen = meant.barrels(live, request, fermenting)
    if isinstance(chosen, Answer):
        return chosen
    on = min(slots.get("on", book.today), book.today)
    codes = tuple(each.code for each in chosen)
    if slots.get("done") is False:
        missed = {"on": on.isoformat(), "missed": True}
        return Answer(
            (NotStirred(codes, on),),
            tuple(Recorded(each.id, "stir", book.said_at, missed) for each in chosen),
        )
    data = {"on": on.isoformat()}
    return Answer(
        (Stirred(codes, on),),
        tuple(Recorded(each.id, "stir", book.said_at, data) for each in chosen),
    )
