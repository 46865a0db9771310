"""Who is in the group, and which groups one is in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from bot.confirming import unconfirmed
from bot.facts import Fact, Option, Question, Request, Term
from bot.records import addresses, people, tallies
from bot.records.book import Answer, Book
from bot.records.changes import MemberSet
from bot.records.people import BOARD, Group
from bot.requests.group.naming import LONGEST_GROUP, of, said, tidy


@dataclass(frozen=True, slots=True)
class Person(Fact):
    """Somebody in the group, with what they are there where it is not a plain member."""

    words: ClassVar[str] = "group.person"
    name: Any
    role: Term


@dataclass(frozen=True, slots=True)
class WhoIsIn(Fact):
    """The group and everyone in it."""

    words: ClassVar[str] = "group.who"
    group: Any
    people: tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class ShowNumbers(Fact):
    """Asks whether the numbers of everyone in the group are to be shown."""

    words: ClassVar[str] = "group.show-numbers"
    group: Any


@dataclass(frozen=True, slots=True)
class NumberOf(Fact):
    """Somebody and where they are reached."""

    words: ClassVar[str] = "group.number-of"
    name: Any
    address: Any


@dataclass(frozen=True, slots=True)
class YourGroup(Fact):
    """The group of one's messages, how many are in it, and one's role there."""

    words: ClassVar[str] = "group.yours"
    plural: ClassVar[str] = "people"
    group: Any
    people: int
    role: Term


@dataclass(frozen=True, slots=True)
class OtherGroups(Fact):
    """The other groups one is in, and how to write to one of them."""

    words: ClassVar[str] = "group.others"
    groups: tuple[str, ...]
    example: str


@dataclass(frozen=True, slots=True)
class OwnGroupToo(Fact):
    """One has a group alone, too; how to write there."""

    words: ClassVar[str] = "group.own-too"


@dataclass(frozen=True, slots=True)
class InEnglish(Fact):
    """How many messages to readers of a language had English in it, for lack of words."""

    words: ClassVar[str] = "group.in-english"
    plural: ClassVar[str] = "messages"
    language: Term
    messages: int


@dataclass(frozen=True, slots=True)
class Switched(Fact):
    """The group that messages are about from now on."""

    words: ClassVar[str] = "group.switched"
    group: Any


@dataclass(frozen=True, slots=True)
class WhichGroup(Fact):
    """Asks which of one's groups is meant."""

    words: ClassVar[str] = "group.which"
    groups: tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class NoSuchGroup(Fact):
    """One is in no group of that name; those one is in."""

    words: ClassVar[str] = "group.no-such"
    said: str
    groups: tuple[Any, ...]


def who(_request: Request, book: Book) -> Answer:
    """Everyone by name; keepers and those without a phone are said to be so."""
    roles = people.roles_in(book.tx, book.group.id)
    told: list[Any] = []
    for each in book.members():
        role = roles[each.id]
        if role == "member":
            told.append(of(each))
        else:
            told.append(Person(of(each), Term("role", role)))
    return Answer((WhoIsIn(said(book.group), tuple(told)),))


def numbers(request: Request, book: Book) -> Answer:
    """Everyone with where they are reached, for a keeper who has confirmed it."""
    held = unconfirmed(request, book, ShowNumbers(said(book.group)), always=False)
    if held is not None:
        return held
    return Answer(
        tuple(
            NumberOf(of(each), (addresses.of_member(book.tx, each.id) or (_no_phone(),))[0])
            for each in book.members()
        )
    )


def _no_phone() -> Term:
    return Term("role", "helper")


def mine(_request: Request, book: Book) -> Answer:
    """The group of one's messages and the others one is in."""
    role = people.role_in(book.tx, book.group.id, book.member.id) or BOARD
    facts: list[Fact] = [YourGroup(said(book.group), len(book.members()), Term("role", role))]
    if role == "keeper":
        lacking = tallies.under(book.tx, f"said_in_english:{book.group.id}")
        facts += [InEnglish(Term("language", tag), n) for tag, n in lacking.items()]
    others = [
        each for each in people.groups_of(book.tx, book.member.id) if each.id != book.group.id
    ]
    if not others:
        return Answer(tuple(facts))
    named = tuple(each.name for each in others if each.name)
    if named:
        facts.append(OtherGroups(named, named[0]))
    if len(named) < len(others):
        facts.append(OwnGroupToo())
    return Answer(tuple(facts))


def _own(group: Group) -> Any:
    return group.name or Term("word", "own_group")


def switch(request: Request, book: Book) -> Answer:
    """Messages are about another of one's groups from now on."""
    groups = people.groups_of(book.tx, book.member.id)
    names = tuple(_own(each) for each in groups)
    name = tidy(request.slots.get("name"), LONGEST_GROUP).casefold()
    if request.slots.get("own") is True:
        found = [each for each in groups if not each.name]
    elif name:
        found = [each for each in groups if each.name.casefold() == name]
    else:
        found = [each for each in groups if each.id != book.group.id]
    if len(found) > 1:
        options = tuple(Option(each.name, _own(each)) for each in found)
        ask = Question(WhichGroup(tuple(map(_own, found))), request, "name", options, listed=False)
        return Answer(question=ask)
    if not found:
        return Answer((NoSuchGroup(name, names),))
    (one,) = found
    return Answer((Switched(_own(one)),), (MemberSet("group_id", one.id),))
