"""The rounds to come."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any, ClassVar

from bot.craft import plans, rounds
from bot.facts import Fact, Request, Term
from bot.records.book import Answer, Book

KIND = "plan"


@dataclass(frozen=True, slots=True)
class Coming(Fact):
    """A crop's coming rounds."""

    words: ClassVar[str] = "plan.coming"
    crop: Term
    use: Term
    days: tuple[date, ...]


@dataclass(frozen=True, slots=True)
class NoneToCome(Fact):
    """A crop with no round to come."""

    words: ClassVar[str] = "plan.none-to-come"
    crop: Term


@dataclass(frozen=True, slots=True)
class Waits(Fact):
    """A crop whose rounds wait for the rain to end."""

    words: ClassVar[str] = "plan.waits"
    crop: Term


@dataclass(frozen=True, slots=True)
class NothingPlanned(Fact):
    """No rounds are planned; how to plan some."""

    words: ClassVar[str] = "rounds.no-plan"


def answer(request: Request, book: Book) -> Answer:
    """One line a crop, the next days first."""
    known = [each.ahead(book.today) for each in book.open(rounds.SUBJECT, rounds.fold)]
    own = [each for each in known if book.owner_of(each.id) == book.member.id]
    crop: Any = request.slots.get("crop")
    name = crop.name if isinstance(crop, Term) else str(crop or "")
    found = plans.meant(known, name, frozenset(), book.today) if name else own or known
    if not found:
        return Answer((NothingPlanned(),))
    return Answer(
        tuple(
            Coming(Term("crop", each.crop), Term("use", each.dose.use), each.dates)
            if each.dates
            else (Waits if each.held else NoneToCome)(Term("crop", each.crop))
            for each in found
        )
    )
