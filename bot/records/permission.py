"""Whether the member may do something in the group, and what to say where not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from bot.craft.permits import permitted
from bot.facts import Fact
from bot.records.book import Book
from bot.records.changes import Answer


@dataclass(frozen=True, slots=True)
class OnlyKeepers(Fact):
    """Only a keeper of the group may do that; who they are."""

    words: ClassVar[str] = "permit.keepers-only"
    keepers: tuple[str, ...]


def refused(book: Book, action: str, *, own: bool = False) -> Answer | None:
    """What to say to a member who may not do this; None where they may.

    Raises:
        KeyError: there is no such action among the permits.
    """
    if permitted(action, book.roles, own=own):
        return None
    names = tuple(each.name for each in book.members("keeper") if each.name)
    return Answer((OnlyKeepers(names),))
