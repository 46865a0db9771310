"""Codes with which others come in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, ClassVar

from bot.craft.codes import invite_code
from bot.facts import Fact, Request
from bot.records import invites
from bot.records.book import Answer, Book
from bot.records.changes import Invited
from bot.requests.group.naming import LONGEST_NAME, said, tidy

VALID = timedelta(days=7)
FOR_MANY = 20
MOST_CODES = 12
"""Days, uses and how many codes a group may have out at once are ours, no source."""


@dataclass(frozen=True, slots=True)
class CodeForMany(Fact):
    """A code, for how many people and until which day it lets them in, and how they use it."""

    words: ClassVar[str] = "group.code-for-many"
    plural: ClassVar[str] = "uses"
    group: Any
    code: str
    uses: int
    until: date


@dataclass(frozen=True, slots=True)
class CodeForOne(Fact):
    """A code for one person, until which day, and how that one uses it."""

    words: ClassVar[str] = "group.code-for-one"
    name: str
    group: Any
    code: str
    until: date


@dataclass(frozen=True, slots=True)
class TooManyCodes(Fact):
    """So many codes are out that no more are given until some are used or run out."""

    words: ClassVar[str] = "group.too-many-codes"


def invite(request: Request, book: Book) -> Answer:
    """A code for one person who is named, else the one for many, the same while it is good."""
    name = tidy(request.slots.get("member"), LONGEST_NAME)
    live = invites.of_group(book.tx, book.group.id, book.now)
    kept = next((each for each in live if each.name == name), None)
    if kept is not None and (name or kept.expires_at - book.now > timedelta(days=1)):
        return Answer((_told(book, kept.code, kept.name, kept.uses_left, kept.expires_at),))
    if len(live) >= MOST_CODES:
        return Answer((TooManyCodes(),))
    code = invite_code(book.new_id())
    while invites.is_taken(book.tx, code):
        code = invite_code(book.new_id())
    until, uses = book.now + VALID, 1 if name else FOR_MANY
    return Answer((_told(book, code, name, uses, until),), (Invited(code, until, uses, name),))


def _told(book: Book, code: str, name: str, uses: int, until: Any) -> Fact:
    day = book.local(until).date()
    if name:
        return CodeForOne(name, said(book.group), code, day)
    return CodeForMany(said(book.group), code, uses, day)
