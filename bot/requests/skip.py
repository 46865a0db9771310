"""The next round is left out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from bot.craft.entries import Entry
from bot.facts import Fact, Request, Term
from bot.records.book import Answer, Book
from bot.records.changes import Recorded
from bot.records.meant import one_plan, plan_after

KIND = "skip"


@dataclass(frozen=True, slots=True)
class Skipped(Fact):
    """A round is left out; when the next one is."""

    words: ClassVar[str] = "rounds.skipped"
    crop: Term
    following: date


@dataclass(frozen=True, slots=True)
class SkippedLast(Fact):
    """The last round is left out; none follows."""

    words: ClassVar[str] = "rounds.skipped-last"
    crop: Term


def answer(request: Request, book: Book) -> Answer:
    """Leave the next round out; say the one after."""
    plan = one_plan(request, book)
    if isinstance(plan, Answer):
        return plan
    after = plan_after(plan, Entry("skipped", book.said_at), book)
    crop = Term("crop", plan.crop)
    change = Recorded(plan.id, "skipped", book.said_at)
    if after.next_on is None:
        return Answer((SkippedLast(crop),), (change,))
    return Answer((Skipped(crop, after.next_on),), (change,))
