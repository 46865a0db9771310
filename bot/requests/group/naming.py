"""Names of groups and of the people in them, as they are said and as they are found."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from bot.facts import Fact, Option, Question, Request, Term
from bot.records import people
from bot.records.book import Answer, Book
from bot.records.people import Group, Member

LONGEST_GROUP = 40
LONGEST_NAME = 24


@dataclass(frozen=True, slots=True)
class NobodyHere(Fact):
    """Nobody in the group has that name; who is in it."""

    words: ClassVar[str] = "group.nobody"
    said: str
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WhoIsMeant(Fact):
    """Asks for the name of the one who is meant."""

    words: ClassVar[str] = "group.whom"
    names: tuple[str, ...]


def tidy(name: object, longest: int) -> str:
    """A name without needless gaps and marks, cut to its longest."""
    return " ".join(str(name or "").split()).strip(" .,!?\"'")[:longest].strip()


def said(group: Group) -> Any:
    """A group's name, or the word for one that has none."""
    return group.name or Term("word", "your_group")


def of(member: Member) -> Any:
    """A member's name, or the word for somebody who has given none."""
    return member.name or Term("word", "unnamed")


def meant(request: Request, book: Book) -> Member | Answer:
    """The one other member that is named in `member`; or what to say or ask instead."""
    others = [each for each in book.members() if each.id != book.member.id]
    names = tuple(each.name for each in others if each.name)
    name = tidy(request.slots.get("member") or request.slots.get("name"), LONGEST_NAME)
    if not name:
        if not names:
            return Answer((NobodyHere("", names),))
        options = tuple(Option(each, each) for each in names)
        ask = Question(WhoIsMeant(names), request, "member", options, listed=False)
        return Answer(question=ask)
    found = [each for each in people.called(book.tx, book.group.id, name) if each in others]
    return found[0] if found else Answer((NobodyHere(name, names),))
