"""A yes before what destroys or reveals; where senders can be forged, a number sent back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import Any, ClassVar

from bot.craft.codes import pin
from bot.facts import Fact, Option, Question, Request, Term
from bot.records import invites
from bot.records.book import Answer, Book
from bot.records.changes import Tried

MOST_TRIES = 3
LOCKED = timedelta(hours=24)
VALID_HOURS = 1
"""Tries, pause and hours are ours, no source: 3 tries of 6,000 a day find it once in 5 years."""


@dataclass(frozen=True, slots=True)
class ByYes(Fact):
    """What is about to be done, and that yes confirms it."""

    words: ClassVar[str] = "confirm.by-yes"
    ask: Fact


@dataclass(frozen=True, slots=True)
class ByCode(Fact):
    """What is about to be done, and which number, sent back within the hour, confirms it."""

    words: ClassVar[str] = "confirm.by-code"
    ask: Fact
    code: str


@dataclass(frozen=True, slots=True)
class WrongCode(Fact):
    """That was not the number; how many tries are left."""

    words: ClassVar[str] = "confirm.wrong-code"
    plural: ClassVar[str] = "left"
    left: int


@dataclass(frozen=True, slots=True)
class TooManyWrong(Fact):
    """Too many wrong numbers: nothing was done, and it can be asked again a day later."""

    words: ClassVar[str] = "confirm.too-many"


@dataclass(frozen=True, slots=True)
class NotDone(Fact):
    """Nothing was changed."""

    words: ClassVar[str] = "confirm.not-done"


def unconfirmed(request: Request, book: Book, ask: Fact, *, always: bool = True) -> Answer | None:
    """What to say while it is not confirmed; None: it is, go on.

    The slot `proof` is what was answered. With `always` a plain yes is wanted where a sender
    cannot be forged, else none at all there. The number goes to the address the message claims to
    come from, so whoever only writes under that address never sees it.
    """
    proof = request.slots.get("proof")
    awaited = request.slots.get("awaited")
    if proof is False:
        return Answer((NotDone(),))
    if not book.forgeable:
        if proof is True or not always:
            return None
        return Answer(question=_question(ByYes(ask), request))
    if _locked(book):
        return Answer((TooManyWrong(),))
    if awaited is None or proof is None or proof is True:
        code = str(awaited or pin(book.new_id()))
        asked = Request(request.kind, _without(request, "proof")).with_slots(awaited=code)
        return Answer(question=_question(ByCode(ask, code), asked))
    if str(proof) == awaited:
        return None
    return _wrong(request, book)


def _wrong(request: Request, book: Book) -> Answer:
    left = MOST_TRIES - 1 - _wrong_tries(book)
    tried = (Tried("confirm", book.member.id),)
    if left <= 0:
        return Answer((TooManyWrong(),), tried)
    again = Request(request.kind, _without(request, "proof"))
    return Answer((), tried, question=_question(WrongCode(left), again))


def _question(ask: Fact, request: Request) -> Question:
    options = (
        Option(value=True, label=Term("answer", "yes")),
        Option(value=False, label=Term("answer", "no")),
    )
    return Question(ask, request, "proof", options, valid_hours=VALID_HOURS, listed=False)


def _without(request: Request, name: str) -> dict[str, Any]:
    return {slot: value for slot, value in request.slots.items() if slot != name}


def _wrong_tries(book: Book) -> int:
    return invites.tries(book.tx, "confirm", book.member.id, book.now - LOCKED)


def _locked(book: Book) -> bool:
    return _wrong_tries(book) >= MOST_TRIES
