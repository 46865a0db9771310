"""A round was done: the next is counted from that day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from bot.craft.entries import Entry
from bot.facts import Fact, Request, Term
from bot.records.book import Answer, Book
from bot.records.changes import Change, Closed, Recorded
from bot.records.meant import one_plan, plan_after

KIND = "sprayed"


@dataclass(frozen=True, slots=True)
class RoundDone(Fact):
    """The crop's round was done on a day, and when the next one is."""

    words: ClassVar[str] = "rounds.done"
    crop: Term
    on: date
    following: date


@dataclass(frozen=True, slots=True)
class LastRoundDone(Fact):
    """That was the last round."""

    words: ClassVar[str] = "rounds.last-done"
    crop: Term
    on: date


def answer(request: Request, book: Book) -> Answer:
    """Keep the round; say the next day, or that it was the last."""
    plan = one_plan(request, book)
    if isinstance(plan, Answer):
        return plan
    on = min(request.slots.get("on", book.today), book.today)
    data = {"on": on.isoformat()}
    after = plan_after(plan, Entry("sprayed", book.said_at, data), book)
    crop = Term("crop", plan.crop)
    change: Change = Recorded(plan.id, "sprayed", book.said_at, data)
    if after.next_on is None and after.left == 0:
        return Answer((LastRoundDone(crop, on),), (Closed(plan.id, "sprayed", book.said_at, data),))
    if after.next_on is None:
        return Answer((LastRoundDone(crop, on),), (change,))
    return Answer((RoundDone(crop, on, after.next_on),), (change,))
