"""A group's own cautions: added in its own words; none of any kind is taken away."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from bot.care import group_cautions
from bot.craft.cautions import Added, added
from bot.craft.permits import permitted
from bot.facts import Fact, Request, Term
from bot.records.book import Answer, Book
from bot.records.changes import GroupSet

KIND = "own_caution"

LONGEST = 60
MOST = 20


@dataclass(frozen=True, slots=True)
class CautionAdded(Fact):
    """The group's caution, as it will be said."""

    words: ClassVar[str] = "own-caution.added"
    widest: ClassVar[dict[str, Any]] = {"caution": "w" * LONGEST}
    caution: str


@dataclass(frozen=True, slots=True)
class NoneIsTaken(Fact):
    """Cautions stay: a group can only add to them."""

    words: ClassVar[str] = "own-caution.stays"


@dataclass(frozen=True, slots=True)
class SayShort(Fact):
    """Asks for the caution in a few words."""

    words: ClassVar[str] = "own-caution.too-long"
    most: int


@dataclass(frozen=True, slots=True)
class Enough(Fact):
    """The group has as many of its own as are kept."""

    words: ClassVar[str] = "own-caution.enough"
    most: int


@dataclass(frozen=True, slots=True)
class KeepersAdd(Fact):
    """Only a keeper of the group adds a caution."""

    words: ClassVar[str] = "own-caution.keepers-only"


def answer(request: Request, book: Book) -> Answer:
    """The caution kept in its own words, beside those that are always there."""
    action = request.slots.get("action")
    if isinstance(action, Term) and action.name == "remove":
        return Answer((NoneIsTaken(),))
    keeper = any(each.id == book.member.id for each in book.members("keeper"))
    if not permitted("caution", ["keeper" if keeper else "member"], own=False):
        return Answer((KeepersAdd(),))
    text = " ".join(str(request.slots.get("words", "")).split()).strip(" :")
    if not text or len(text) > LONGEST:
        return Answer((SayShort(LONGEST),))
    own = group_cautions(book)
    if len(own) >= MOST:
        return Answer((Enough(MOST),))
    kept = added(own, Added(f"own{len(own) + 1}", text))
    return Answer(
        (CautionAdded(text),), (GroupSet("cautions", {each.key: each.text for each in kept}),)
    )
