"""A group is founded, or gets its name."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from bot.facts import Fact, Question, Request
from bot.records.book import Answer, Book
from bot.records.changes import Founded, GroupSet
from bot.requests.group.naming import LONGEST_GROUP, tidy


@dataclass(frozen=True, slots=True)
class GroupFounded(Fact):
    """The group is there and the member keeps it; how to bring others in."""

    words: ClassVar[str] = "group.founded"
    group: str


@dataclass(frozen=True, slots=True)
class GroupNamed(Fact):
    """The group's name from now on."""

    words: ClassVar[str] = "group.named"
    group: str


@dataclass(frozen=True, slots=True)
class WhatName(Fact):
    """Asks what the group is to be called."""

    words: ClassVar[str] = "group.what-name"


def found(request: Request, book: Book) -> Answer:
    """Whoever is alone in a nameless group names it, with all that is in it; else a new one."""
    name = tidy(request.slots.get("name"), LONGEST_GROUP)
    if not name:
        return Answer(question=Question(WhatName(), request, "name"))
    alone = len(book.members()) == 1 and not book.group.name
    change = GroupSet("name", name) if alone else Founded(name)
    return Answer((GroupFounded(name),), (change,))


def name(request: Request, _book: Book) -> Answer:
    """Give the group a name."""
    name = tidy(request.slots.get("name"), LONGEST_GROUP)
    if not name:
        return Answer(question=Question(WhatName(), request, "name"))
    return Answer((GroupNamed(name),), (GroupSet("name", name),))
