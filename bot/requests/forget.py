"""Delete me: everything personal goes, after one question."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import islice
from typing import ClassVar

from bot.confirming import unconfirmed
from bot.facts import Fact, Request
from bot.records import people
from bot.records.book import Answer, Book
from bot.records.changes import Became, Change, Forgotten, Left

KIND = "forget"


@dataclass(frozen=True, slots=True)
class SureToForget(Fact):
    """Asks whether really everything personal is to be deleted; it cannot be undone."""

    words: ClassVar[str] = "forget.really"


@dataclass(frozen=True, slots=True)
class AllForgotten(Fact):
    """The last word: it is deleted."""

    words: ClassVar[str] = "forget.done"


def answer(request: Request, book: Book) -> Answer:
    """Ask once; confirmed, everything personal goes."""
    held = unconfirmed(request, book, SureToForget())
    if held is not None:
        return held
    return Answer((AllForgotten(),), (*_out_of_groups(book), Forgotten()))


def _out_of_groups(book: Book) -> tuple[Change, ...]:
    """Nobody stays in a group without a name; another keeps it where this was its last keeper."""
    others = [each for each in book.members() if each.id != book.member.id]
    if not others:
        return ()
    changes: list[Change] = []
    if {each.id for each in book.members("keeper")} == {book.member.id}:
        roles = people.roles_in(book.tx, book.group.id)
        able = (e for e in others if roles[e.id] == "member" and not e.via_member_id)
        changes += [Became(heir.id, "keeper") for heir in islice(able, 1)]
    return (*changes, Left(book.member.id, takes=False))
