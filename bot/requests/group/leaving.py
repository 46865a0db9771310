"""Somebody leaves the group or is taken out of it, or the group is no more."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from bot.confirming import unconfirmed
from bot.facts import Fact, Request
from bot.records import journal, people
from bot.records.book import Answer, Book
from bot.records.changes import Became, Change, Disbanded, Left, Told
from bot.records.people import Member
from bot.requests.group.naming import meant, of, said


@dataclass(frozen=True, slots=True)
class AloneHere(Fact):
    """The member is alone in this group: there is nothing to leave."""

    words: ClassVar[str] = "group.alone"


@dataclass(frozen=True, slots=True)
class LeaveAsLast(Fact):
    """Asks the last keeper whether to leave, and who keeps the group then."""

    words: ClassVar[str] = "group.leave-as-last"
    group: Any
    heir: Any


@dataclass(frozen=True, slots=True)
class LeftGroup(Fact):
    """The member has left; barrels and rounds they began stay with the group."""

    words: ClassVar[str] = "group.left"
    group: Any


@dataclass(frozen=True, slots=True)
class GoesAlong(Fact):
    """What somebody brought into the group goes with them when they leave it."""

    words: ClassVar[str] = "group.goes-along"
    things: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HasLeft(Fact):
    """Tells a keeper who has left."""

    words: ClassVar[str] = "group.has-left"
    name: Any
    group: Any


@dataclass(frozen=True, slots=True)
class NowYouKeep(Fact):
    """Tells somebody that the last keeper has left and they keep the group now."""

    words: ClassVar[str] = "group.you-keep"
    group: Any


@dataclass(frozen=True, slots=True)
class NobodyToKeep(Fact):
    """Nobody else has a phone: the group can only be deleted."""

    words: ClassVar[str] = "group.nobody-to-keep"


@dataclass(frozen=True, slots=True)
class RemoveThem(Fact):
    """Asks whether somebody is to be taken out of the group."""

    words: ClassVar[str] = "group.remove-them"
    name: str
    group: Any


@dataclass(frozen=True, slots=True)
class Removed(Fact):
    """Somebody is no longer in the group; codes given out so far let nobody in any more."""

    words: ClassVar[str] = "group.removed"
    name: str
    group: Any


@dataclass(frozen=True, slots=True)
class YouAreOut(Fact):
    """Tells somebody that they are no longer in the group; their own record stays theirs."""

    words: ClassVar[str] = "group.you-are-out"
    group: Any


@dataclass(frozen=True, slots=True)
class DeleteGroup(Fact):
    """Asks whether the group is to be deleted: how many people and things that ends."""

    words: ClassVar[str] = "group.delete-it"
    group: Any
    people: int
    things: int


@dataclass(frozen=True, slots=True)
class GroupDeleted(Fact):
    """The group is no more; no reminders come from it."""

    words: ClassVar[str] = "group.deleted"
    group: Any


def leave(request: Request, book: Book) -> Answer:
    """Leave; the last keeper is asked first and names no one: who has been there longest keeps."""
    everyone = book.members()
    others = [each for each in everyone if each.id != book.member.id]
    if not others:
        return Answer((AloneHere(),))
    group = said(book.group)
    changes: list[Change] = []
    keepers = {each.id for each in book.members("keeper")}
    if keepers == {book.member.id}:
        heir = _heir(book, others)
        if heir is None:
            return Answer((NobodyToKeep(),))
        held = unconfirmed(request, book, LeaveAsLast(group, of(heir)))
        if held is not None:
            return held
        changes += [
            Became(heir.id, "keeper"),
            Told((NowYouKeep(group),), member_id=heir.id, group_id=book.group.id),
        ]
    else:
        gone = HasLeft(of(book.member), group)
        changes.append(Told((gone,), keepers=True, group_id=book.group.id))
    facts = (LeftGroup(group), *_along(book, book.member.id))
    return Answer(facts, (*changes, Left(book.member.id)))


def _along(book: Book, member_id: str) -> tuple[Fact, ...]:
    things = journal.brought_by(book.tx, member_id, book.group.id)
    return (GoesAlong(tuple(code for _id, code in things)),) if things else ()


def _heir(book: Book, others: list[Member]) -> Member | None:
    """Who has been in the group longest and has a phone."""
    roles = people.roles_in(book.tx, book.group.id)
    able = [each for each in others if roles[each.id] == "member" and not each.via_member_id]
    return able[0] if able else None


def remove(request: Request, book: Book) -> Answer:
    """Take somebody out; the codes that they may know end with it."""
    chosen = meant(request, book)
    if isinstance(chosen, Answer):
        return chosen
    group = said(book.group)
    held = unconfirmed(request, book, RemoveThem(chosen.name, group))
    if held is not None:
        return held
    along = _along(book, chosen.id)
    told = Told((YouAreOut(group), *along), member_id=chosen.id, group_id=book.group.id)
    changes = (told, Left(chosen.id, ends_invites=True))
    return Answer((Removed(chosen.name, group), *along), changes)


def delete(request: Request, book: Book) -> Answer:
    """Delete the group: everyone is out, everything in it is closed."""
    group, everyone = said(book.group), book.members()
    ask = DeleteGroup(group, len(everyone), len(book.open_ids()))
    held = unconfirmed(request, book, ask)
    if held is not None:
        return held
    told = tuple(
        Told((GroupDeleted(group),), member_id=each.id)
        for each in everyone
        if each.id != book.member.id and not each.via_member_id
    )
    return Answer((GroupDeleted(group),), (Disbanded(), *told))
