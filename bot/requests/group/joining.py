"""Somebody comes in: with a code from any phone, on another's phone, or written for by a keeper."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import Any, ClassVar

from bot.craft.codes import normal
from bot.facts import Fact, Option, Question, Request, Term
from bot.records import invites, journal, people
from bot.records.book import Answer, Book
from bot.records.changes import (
    Added,
    Change,
    InviteUsed,
    Joined,
    MemberSet,
    Moved,
    Told,
    Tried,
)
from bot.records.people import BOARD, Group
from bot.requests.group.naming import LONGEST_NAME, of, said, tidy

OF_THE_GROUP = frozenset({"circle", "rota"})
"""Kinds of subject that stay with their group."""
AN_HOUR = timedelta(hours=1)
MOST_WRONG = 5
MOST_WRONG_OF_ALL = 300
"""Wrong codes an hour from one address, and from all of them. Ours, no source."""


@dataclass(frozen=True, slots=True)
class WhatCode(Fact):
    """Asks for the code of the group."""

    words: ClassVar[str] = "group.what-code"


@dataclass(frozen=True, slots=True)
class NoSuchCode(Fact):
    """No group is joined by that code, or no longer; ask a keeper for a new one."""

    words: ClassVar[str] = "group.no-such-code"
    code: str


@dataclass(frozen=True, slots=True)
class TooManyTries(Fact):
    """Too many wrong codes came: wait an hour."""

    words: ClassVar[str] = "group.too-many-tries"


@dataclass(frozen=True, slots=True)
class AlreadyIn(Fact):
    """The member is in that group already, which is now the group of their messages."""

    words: ClassVar[str] = "group.already-in"
    group: Any


@dataclass(frozen=True, slots=True)
class BringThem(Fact):
    """Asks whether what one has alone comes along into the group or stays one's own."""

    words: ClassVar[str] = "group.bring-them"
    group: Any
    things: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class JoinedGroup(Fact):
    """The member is in the group; whom to turn to."""

    words: ClassVar[str] = "group.joined"
    group: Any
    keepers: tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Brought(Fact):
    """Something came along into the group; under another short name where that was taken."""

    words: ClassVar[str] = "group.brought"
    code: str
    now: str


@dataclass(frozen=True, slots=True)
class StaysOwn(Fact):
    """What one has alone stays in one's own group; how to write about it."""

    words: ClassVar[str] = "group.stays-own"
    things: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WhatAreYouCalled(Fact):
    """Asks a new member's name, so that the others know who it is."""

    words: ClassVar[str] = "group.your-name"


@dataclass(frozen=True, slots=True)
class NewMember(Fact):
    """Tells a keeper who has come into the group."""

    words: ClassVar[str] = "group.new-member"
    name: Any
    group: Any


@dataclass(frozen=True, slots=True)
class BoardJoined(Fact):
    """This group chat now gets what is for everyone in the group."""

    words: ClassVar[str] = "group.board-joined"
    group: Any


@dataclass(frozen=True, slots=True)
class JoinedHere(Fact):
    """Somebody shares this phone now and is in the group; how to write for them."""

    words: ClassVar[str] = "group.joined-here"
    name: str
    group: Any


@dataclass(frozen=True, slots=True)
class AddThem(Fact):
    """Asks whether somebody without a phone is to be added to the group, to be written for."""

    words: ClassVar[str] = "group.add-them"
    name: str
    group: Any


@dataclass(frozen=True, slots=True)
class NotAdded(Fact):
    """Nobody was added."""

    words: ClassVar[str] = "group.not-added"


@dataclass(frozen=True, slots=True)
class AddedThem(Fact):
    """Somebody without a phone is in the group; how to write for them."""

    words: ClassVar[str] = "group.added"
    name: str
    group: Any


def join(request: Request, book: Book) -> Answer:
    """Into the group of a code, with or without what one has alone; a group chat is its board."""
    typed = str(request.slots.get("code", ""))
    code = normal(typed)
    if not code:
        return Answer(question=Question(WhatCode(), request, "code"))
    if _tried_too_often(book):
        return Answer((TooManyTries(),))
    found = invites.live(book.tx, code, book.now)
    if found is None:
        return Answer((NoSuchCode(typed[:12]),), (Tried("join", book.sender),))
    group = people.group_of(book.tx, found.group_id)
    used = InviteUsed(code)
    name = tidy(request.slots.get("member"), LONGEST_NAME)
    if name:
        added = Added(name, "member", group.id)
        told = Told((NewMember(name, said(group)),), keepers=True, group_id=group.id)
        return Answer((JoinedHere(name, said(group)),), (added, used, told))
    if people.role_in(book.tx, group.id, book.member.id):
        here: tuple[Change, ...] = ()
        if book.group.id != group.id:
            here = (MemberSet("group_id", group.id),)
        return Answer((AlreadyIn(said(group)),), here)
    if book.noticeboard:
        board = BoardJoined(said(group))
        told = Told((board,), keepers=True, group_id=group.id)
        return Answer((board,), (Joined(group.id, BOARD), used, told))
    return _come_in(request, book, group, (used, *_named(book, found.name)))


def _come_in(request: Request, book: Book, group: Group, changes: tuple[Change, ...]) -> Answer:
    own = _alone_with(book)
    bring = request.slots.get("bring")
    things = tuple(code for _id, _kind, code in own)
    if own and bring is None:
        options = (
            Option(value=True, label=Term("answer", "yes")),
            Option(value=False, label=Term("answer", "no")),
        )
        ask = BringThem(said(group), things)
        return Answer(question=Question(ask, request, "bring", options, listed=False))
    keepers = tuple(of(each) for each in people.members_of(book.tx, group.id, role="keeper"))
    facts: list[Fact] = [JoinedGroup(said(group), keepers)]
    moved: list[Change] = []
    if own and bring is True:
        taken: set[str] = set()
        for subject_id, _kind, code in own:
            new = journal.free_code(book.tx, group.id, code, taken)
            taken.add(new)
            moved.append(Moved(subject_id, group.id, new))
            facts.append(Brought(code, new))
    elif own:
        facts.append(StaysOwn(things))
    name = next((each.value for each in changes if isinstance(each, MemberSet)), "")
    name = book.member.name or name
    told = Told(
        (NewMember(name or Term("word", "newcomer"), said(group)),), keepers=True, group_id=group.id
    )
    ask_name = None if name else Question(WhatAreYouCalled(), Request("settings"), "name")
    changes = (*moved, Joined(group.id), *changes, told)
    return Answer(tuple(facts), changes, question=ask_name)


def _named(book: Book, name: str) -> tuple[Change, ...]:
    """Whoever was invited by name is called so, unless they said otherwise."""
    return (MemberSet("name", name),) if name and not book.member.name else ()


def _alone_with(book: Book) -> list[tuple[str, str, str]]:
    """What somebody who is alone in their group has open there: identity, kind, short name."""
    if len(book.members()) > 1:
        return []
    heads = journal.open_heads(book.tx, book.group.id)
    return [each for each in heads if each[1] not in OF_THE_GROUP]


def _tried_too_often(book: Book) -> bool:
    since = book.now - AN_HOUR
    return (
        invites.tries(book.tx, "join", book.sender, since) >= MOST_WRONG
        or invites.tries(book.tx, "join", "", since) >= MOST_WRONG_OF_ALL
    )


def add(request: Request, book: Book) -> Answer:
    """Somebody without a phone: asked once, then added, and what was said for them is heard."""
    name = tidy(request.slots.get("name") or request.slots.get("member"), LONGEST_NAME)
    sure = request.slots.get("sure")
    if sure is None:
        options = (
            Option(value=True, label=Term("answer", "yes")),
            Option(value=False, label=Term("answer", "no")),
        )
        ask = AddThem(name, said(book.group))
        return Answer(question=Question(ask, request, "sure", options, listed=False))
    if sure is not True:
        return Answer((NotAdded(),))
    return Answer((AddedThem(name, said(book.group)),), (Added(name),))
