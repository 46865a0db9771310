"""Whether somebody may do what they asked: every request passes here, before and after its answer.

`craft.permits` is the table; this room says which row a request is, and whose the thing is that
its changes touch.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from bot.craft.permits import TABLE, permitted
from bot.facts import Fact, Request, Term
from bot.records import journal
from bot.records.book import Book
from bot.records.changes import (
    Became,
    Change,
    Closed,
    GroupSet,
    Left,
    Moved,
    Opened,
    Recorded,
    Renamed,
)

ROWS: Mapping[str, str] = {
    "start": "start",
    "stir": "stir",
    "look": "look",
    "temperature": "look",
    "draw": "draw",
    "keep": "keep",
    "finish": "finish",
    "heap": "stir",
    "copper": "sprayed",
    "name": "name",
    "plot": "plot",
    "rounds": "rounds",
    "harvest": "rounds",
    "sprayed": "sprayed",
    "washed": "sprayed",
    "late": "sprayed",
    "skip": "sprayed",
    "plan": "see_rounds",
    "undo": "undo",
    "rota": "rota",
    "supply": "supply",
    "weather": "rain",
    "calendar": "calendar",
    "equipment": "equipment",
    "forget": "forget",
}
"""The row of each kind of request; what is not here only asks, or sets what is one's own."""

ACTIONS: Mapping[str, str] = {
    "found": "found",
    "join": "join",
    "leave": "leave",
    "who": "see_members",
    "numbers": "see_numbers",
    "invite": "invite",
    "name": "group_settings",
    "remove": "remove",
    "add": "write_for",
    "keeper": "make_keeper",
    "handover": "hand_over",
    "delete": "disband",
}
"""The row of each thing asked about the group; the others (which groups, switch) only ask."""

JUDGED_THERE = frozenset({"rota", "weather", "calendar", "supply", "equipment"})
"""Kinds whose subject is the group's own; their rooms know whose turn or round it is about."""

HEIRS = frozenset({"forget", "leave"})
"""Rows where the last keeper goes and somebody else keeps the group from then on."""

SETTINGS: Mapping[str, str] = {"prices": "prices", "cautions": "caution", "recipes": "recipe"}
"""The row of a setting of the group, where it has one of its own."""


@dataclass(frozen=True, slots=True)
class KeepersOnly(Fact):
    """Only a keeper may do that; who they are."""

    words: ClassVar[str] = "permit.keepers-only"
    keepers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MembersOnly(Fact):
    """A member of the group may do that, not somebody who is only written for; who keeps it."""

    words: ClassVar[str] = "permit.members-only"
    keepers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TheirsOnly(Fact):
    """It is somebody else's: that one or a keeper may do it."""

    words: ClassVar[str] = "permit.theirs-only"
    owner: Any
    keepers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NotFromBoard(Fact):
    """A group chat tells nobody who writes: that has to be written to the bot alone."""

    words: ClassVar[str] = "permit.not-from-board"


def row_of(request: Request) -> str:
    """The row of the table that a request falls under.

    >>> row_of(Request("group", {"action": Term("action", "invite")})), row_of(Request("mix"))
    ('invite', 'ask')
    """
    if request.kind == "group":
        action = request.slots.get("action")
        name = action.name if isinstance(action, Term) else str(action or "")
        return ACTIONS.get(name, "join" if "code" in request.slots else "ask")
    return ROWS.get(request.kind, "ask")


def before(request: Request, book: Book) -> Fact | None:
    """The refusal of what this one may not do to anything at all; None: ask the room."""
    row = row_of(request)
    return None if permitted(row, book.roles, own=True) else _refusal(row, "", book)


def after(request: Request, changes: Iterable[Change], book: Book) -> Fact | None:
    """The refusal of an answer whose changes touch what is not theirs to touch; None: write it."""
    row = row_of(request)
    if request.kind in JUDGED_THERE:
        return None
    for change in changes:
        if isinstance(change, Became) and row in HEIRS:
            continue
        if isinstance(change, Opened | Recorded) and change.aside:
            continue  # it only follows from a change that is looked at
        owner = _owner(change, book)
        if isinstance(change, GroupSet):
            row_here = SETTINGS.get(change.name, "group_settings")
        else:
            row_here = row
        if not permitted(row_here, book.roles, own=owner == book.member.id):
            return _refusal(row_here, owner, book)
    return None


def _owner(change: Change, book: Book) -> str:
    match change:
        case Recorded() | Closed() | Moved() | Renamed():
            return journal.tender_of(book.tx, change.subject_id)
        case Left() | Became():
            return change.member_id
        case GroupSet():
            return ""
        case _:
            return book.member.id


def _refusal(row: str, owner_id: str, book: Book) -> Fact:
    keepers = _names(book)
    if "stranger" in book.roles:
        return NotFromBoard()
    if owner_id and permitted(row, ["member"], own=True):
        owner = next((each.name for each in book.members() if each.id == owner_id), "")
        return TheirsOnly(owner or Term("word", "unnamed"), keepers)
    _keeper, member, _helper, _stranger = TABLE[row]
    return KeepersOnly(keepers) if member == "no" else MembersOnly(keepers)


def _names(book: Book) -> tuple[str, ...]:
    named: Sequence[str] = [each.name for each in book.members("keeper") if each.name]
    return tuple(named)
