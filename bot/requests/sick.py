"""A question of plant sickness: kept for the keeper and referred, never diagnosed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from bot.facts import Fact, Request
from bot.records.book import Answer, Book
from bot.records.changes import Noted, Told

KIND = "sick"
LONGEST = 160


@dataclass(frozen=True, slots=True)
class Referred(Fact):
    """The question is kept for the keeper; who to show the plant to."""

    words: ClassVar[str] = "sick.referred"


@dataclass(frozen=True, slots=True)
class AskedBy(Fact):
    """To the keeper: who asked, in the member's own words."""

    words: ClassVar[str] = "sick.asked-by"
    name: str
    text: str


def answer(request: Request, book: Book) -> Answer:
    """Keep the words, tell the keeper, refer to someone who may judge."""
    text = str(request.slots.get("text", ""))[:LONGEST]
    told = Told((AskedBy(book.member.name, text),), keepers=True)
    return Answer((Referred(),), (Noted("sick", book.said_at, {"text": text}), told))
