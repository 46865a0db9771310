"""Take back the last thing recorded."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from bot.facts import Fact, Request, Term
from bot.naming import named
from bot.records.book import Answer, Book
from bot.records.changes import Undone

KIND = "undo"

BESIDE = frozenset({"alone", "invite-used", "set"})
"""Kinds of entries that only go with others: they are not named unless they stand alone."""


@dataclass(frozen=True, slots=True)
class TakenBack(Fact):
    """What was taken back."""

    words: ClassVar[str] = "undo.taken-back"
    what: tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class What(Fact):
    """One thing that was recorded: of which kind, about which barrel or plan."""

    words: ClassVar[str] = "undo.what"
    entry: Term
    code: Any


@dataclass(frozen=True, slots=True)
class NothingToUndo(Fact):
    """This member has recorded nothing that still stands."""

    words: ClassVar[str] = "undo.nothing"


def answer(_request: Request, book: Book) -> Answer:
    """Revert the member's newest exchange, with its rules and unsent words."""
    last = book.last_exchange()
    if last is None:
        return Answer((NothingToUndo(),))
    kinds = dict.fromkeys(book.recorded_in(last))
    kinds = {each: None for each in kinds if each[0] not in BESIDE} or kinds
    what = tuple(
        What(Term("entry", kind), named(code)) if code else Term("entry", kind)
        for kind, code in kinds
    )
    return Answer((TakenBack(what),), (Undone(last),))
