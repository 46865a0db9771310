"""How warm it is where the barrels stand: degrees, or a word."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, ClassVar

from bot.craft import batches
from bot.craft.entries import Entry
from bot.craft.outlook import Outlook
from bot.craft.units import Quantity
from bot.extremes import extremes
from bot.facts import Fact, Question, Request, Term
from bot.records import meant
from bot.records.book import Answer, Book
from bot.records.changes import Recorded

KIND = "temperature"
COLDEST_C, HOTTEST_C = Decimal(-20), Decimal(60)


@dataclass(frozen=True, slots=True)
class WarmthKept(Fact):
    """What was told of the warmth of which barrels, and when to look from now on."""

    words: ClassVar[str] = "temperature.kept"
    warmth: Any
    barrel: str
    first: date
    likely: date


@dataclass(frozen=True, slots=True)
class WarmthOnly(Fact):
    """The warmth is kept, for barrels that nobody looks at any more."""

    words: ClassVar[str] = "temperature.only"
    warmth: Any
    barrel: str


@dataclass(frozen=True, slots=True)
class HowWarm(Fact):
    """Asks how warm it is: degrees or a word."""

    words: ClassVar[str] = "temperature.how-warm"


@dataclass(frozen=True, slots=True)
class NotSoWarm(Fact):
    """No shed has that temperature."""

    words: ClassVar[str] = "temperature.cannot-be"
    warmth: Quantity


def answer(request: Request, book: Book) -> Answer:
    """Keep the warmth of the barrels that ferment; say what it changes."""
    slots = request.slots
    said = slots.get("temperature")
    word = slots.get("warmth")
    if not isinstance(said, Quantity) and not isinstance(word, Term):
        return Answer(question=Question(HowWarm(), request, "temperature"))
    data: dict[str, object] = {"on": book.today.isoformat()}
    if isinstance(said, Quantity):
        celsius = said.value if said.unit != "degree_fahrenheit" else (said.value - 32) * 5 / 9
        if not COLDEST_C <= celsius <= HOTTEST_C:
            return Answer((NotSoWarm(said),))
        data["celsius"] = str(round(celsius, 1))
    elif isinstance(word, Term):
        data["warmth"] = word.name
    live = [each for each in book.open(batches.SUBJECT, batches.fold) if each.is_live]
    fermenting = [each for each in live if each.state == "fermenting"]
    chosen = meant.barrels(live, request, fermenting)
    if isinstance(chosen, Answer):
        return chosen
    facts: list[Fact] = []
    outlooks: list[Outlook] = []
    for each in chosen:
        head, entries = book.told(each.id)
        after = batches.fold(head, [*entries, Entry("temperature", book.said_at, data)])
        seen = book.outlook(after)
        if seen is None or each.state != "fermenting":
            facts.append(WarmthOnly(said or word, each.code))
        else:
            facts.append(WarmthKept(said or word, each.code, seen.look_on, seen.likely_on))
            outlooks.append(seen)
    return Answer(
        (*facts, *extremes(outlooks)),
        tuple(Recorded(each.id, "temperature", book.said_at, data) for each in chosen),
    )
