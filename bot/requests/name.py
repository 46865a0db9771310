"""A barrel gets a name of its own, or another one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from bot.craft import batches
from bot.facts import Fact, Question, Request
from bot.records import meant
from bot.records.book import Answer, Book
from bot.records.changes import Renamed

KIND = "name"

LONGEST_NAME = 16
"""Letters a barrel's name may have: it stands in every message about it."""


@dataclass(frozen=True, slots=True)
class Named(Fact):
    """What the barrel was called, and what it is called from now on."""

    words: ClassVar[str] = "name.named"
    barrel: str
    name: str


@dataclass(frozen=True, slots=True)
class Taken(Fact):
    """Another barrel bears that name."""

    words: ClassVar[str] = "name.taken"
    name: str


@dataclass(frozen=True, slots=True)
class NoName(Fact):
    """What was sent is no name for a barrel; what one is."""

    words: ClassVar[str] = "name.no-name"


@dataclass(frozen=True, slots=True)
class WhatName(Fact):
    """Asks what the barrel is to be called."""

    words: ClassVar[str] = "name.what-name"
    barrel: str


def answer(request: Request, book: Book) -> Answer:
    """The barrel that is named, or the only one, under its new name."""
    known = book.open(batches.SUBJECT, batches.fold)
    # A name as "blue" may point at a barrel too: the first one named is the one meant.
    which = tuple(request.slots.get("which") or ())[:1]
    request = replace(request, slots={**request.slots, "which": which})
    chosen = meant.barrels(known, request)
    if isinstance(chosen, Answer):
        return chosen
    if len(chosen) > 1:
        return meant.ask_which(chosen, request)
    barrel, said = chosen[0], request.slots.get("name")
    if said is None:
        return Answer(question=Question(WhatName(barrel.code), request, "name"))
    name = " ".join(str(said).split())
    if len(name) > LONGEST_NAME or not any(letter.isalpha() for letter in name):
        return Answer((NoName(),))
    if any(each.code.casefold() == name.casefold() for each in known if each is not barrel):
        return Answer((Taken(name),))
    return Answer((Named(barrel.code, name),), (Renamed(barrel.id, name),))
