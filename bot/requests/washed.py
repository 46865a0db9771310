"""Rain took a round off, or came before one: it is done again, once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any, ClassVar

from bot.craft import rounds
from bot.craft.entries import Entry
from bot.craft.round_plan import Rounds
from bot.facts import Fact, Request, Term
from bot.records.book import Answer, Book
from bot.records.changes import Recorded
from bot.records.meant import one_plan, plan_after
from bot.records.together import shaken

KIND = "washed"


@dataclass(frozen=True, slots=True)
class Again(Fact):
    """The round is repeated on a day; not sooner than the leaves are dry."""

    words: ClassVar[str] = "rounds.again"
    crop: Term
    on: date


@dataclass(frozen=True, slots=True)
class WaitForDry(Fact):
    """The round due now waits for a dry day: tell which."""

    words: ClassVar[str] = "rounds.wait-for-dry"
    crop: Term


@dataclass(frozen=True, slots=True)
class NotRepeated(Fact):
    """The round was repeated once already; it goes on with the next."""

    words: ClassVar[str] = "rounds.not-repeated"
    crop: Term
    following: Any


def answer(request: Request, book: Book) -> Answer:
    """Keep the rain; say when the round is done again."""
    plan = _just_done(request, book) or one_plan(request, book)
    if isinstance(plan, Answer):
        return plan
    crop = Term("crop", plan.crop)
    on = min(request.slots.get("on", book.today), book.today)
    if not plan.done or (plan.next_on is not None and plan.next_on <= on):
        # Nothing was sprayed that rain could have taken off: the round of today waits.
        return Answer((WaitForDry(crop),), (Recorded(plan.id, "rain", book.said_at, {}),))
    data = {"on": on.isoformat()}
    after = plan_after(plan, Entry("washed", book.said_at, data), book)
    change = Recorded(plan.id, "washed", book.said_at, data)
    if not after.repeat or after.next_on is None:
        following = after.next_on or Term("word", "never")
        return Answer((NotRepeated(crop, following),), (change,))
    return Answer((Again(crop, after.next_on),), (change, *shaken(book, "moved", plan.code)))


def _just_done(request: Request, book: Book) -> Rounds | None:
    """The one plan whose round was done within a day: rain without a name speaks of that."""
    if request.slots.get("crop") or request.slots.get("plot"):
        return None
    done = [
        each
        for each in book.open(rounds.SUBJECT, rounds.fold)
        if each.done
        and (book.today - each.done[-1].on).days <= 1
        and book.owner_of(each.id) == book.member.id
    ]
    return done[0].ahead(book.today) if len(done) == 1 else None
