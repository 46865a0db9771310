"""The next round moves to another day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import ClassVar

from bot.craft.entries import Entry
from bot.facts import Fact, Request, Term
from bot.records.book import Answer, Book
from bot.records.changes import Recorded
from bot.records.meant import one_plan, plan_after
from bot.records.together import shaken

KIND = "late"


@dataclass(frozen=True, slots=True)
class Moved(Fact):
    """The round moved to a day."""

    words: ClassVar[str] = "rounds.moved"
    crop: Term
    on: date


@dataclass(frozen=True, slots=True)
class MovedElsewhere(Fact):
    """The day asked for is not possible; the round stands on another."""

    words: ClassVar[str] = "rounds.moved-elsewhere"
    crop: Term
    asked: date
    on: date


@dataclass(frozen=True, slots=True)
class NoDayLeft(Fact):
    """No day is left for the round."""

    words: ClassVar[str] = "rounds.no-day-left"
    crop: Term


def answer(request: Request, book: Book) -> Answer:
    """Move the round; without a day, to tomorrow."""
    plan = one_plan(request, book)
    if isinstance(plan, Answer):
        return plan
    asked = request.slots.get("on", book.today + timedelta(days=1))
    data = {"to_on": asked.isoformat()}
    after = plan_after(plan, Entry("late", book.said_at, data), book)
    crop = Term("crop", plan.crop)
    if after.next_on is None:
        return Answer((NoDayLeft(crop),))
    change = Recorded(plan.id, "late", book.said_at, data)
    changes = (change, *shaken(book, "moved", plan.code))
    if after.next_on != asked:
        return Answer((MovedElsewhere(crop, asked, after.next_on),), changes)
    return Answer((Moved(crop, asked),), changes)
