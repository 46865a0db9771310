"""Who keeps the group."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from bot.confirming import unconfirmed
from bot.facts import Fact, Request
from bot.records import people
from bot.records.book import Answer, Book
from bot.records.changes import Became, Told
from bot.requests.group.naming import meant, said


@dataclass(frozen=True, slots=True)
class MakeKeeper(Fact):
    """Asks whether somebody is to keep the group too."""

    words: ClassVar[str] = "group.make-keeper"
    name: str
    group: Any


@dataclass(frozen=True, slots=True)
class IsKeeper(Fact):
    """Somebody keeps the group now, too."""

    words: ClassVar[str] = "group.is-keeper"
    name: str
    group: Any


@dataclass(frozen=True, slots=True)
class YouKeep(Fact):
    """Tells somebody that they keep the group now."""

    words: ClassVar[str] = "group.you-keep"
    group: Any


@dataclass(frozen=True, slots=True)
class HandOver(Fact):
    """Asks whether the group is to be handed over to somebody; one is no keeper any more then."""

    words: ClassVar[str] = "group.hand-over"
    name: str
    group: Any


@dataclass(frozen=True, slots=True)
class HandedOver(Fact):
    """Somebody else keeps the group now."""

    words: ClassVar[str] = "group.handed-over"
    name: str
    group: Any


@dataclass(frozen=True, slots=True)
class KeeperAlready(Fact):
    """That one keeps the group already."""

    words: ClassVar[str] = "group.keeper-already"
    name: str


@dataclass(frozen=True, slots=True)
class NoPhoneToKeep(Fact):
    """Somebody without a phone of their own cannot keep a group."""

    words: ClassVar[str] = "group.no-phone-to-keep"
    name: str


def make_keeper(request: Request, book: Book) -> Answer:
    """Make another member a keeper too."""
    chosen = meant(request, book)
    if isinstance(chosen, Answer):
        return chosen
    if people.role_in(book.tx, book.group.id, chosen.id) == "keeper":
        return Answer((KeeperAlready(chosen.name),))
    if chosen.via_member_id:
        return Answer((NoPhoneToKeep(chosen.name),))
    group = said(book.group)
    held = unconfirmed(request, book, MakeKeeper(chosen.name, group), always=False)
    if held is not None:
        return held
    told = Told((YouKeep(group),), member_id=chosen.id)
    return Answer((IsKeeper(chosen.name, group),), (Became(chosen.id, "keeper"), told))


def hand_over(request: Request, book: Book) -> Answer:
    """Another keeps the group, and the member no longer does."""
    chosen = meant(request, book)
    if isinstance(chosen, Answer):
        return chosen
    if chosen.via_member_id:
        return Answer((NoPhoneToKeep(chosen.name),))
    group = said(book.group)
    held = unconfirmed(request, book, HandOver(chosen.name, group))
    if held is not None:
        return held
    changes = (
        Became(chosen.id, "keeper"),
        Became(book.member.id, "member"),
        Told((YouKeep(group),), member_id=chosen.id),
    )
    return Answer((HandedOver(chosen.name, group),), changes)
