"""Why a barrel should be ready when the bot says so, or why a caution was given."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, ClassVar

from bot.care import reasons
from bot.craft import batches
from bot.craft.outlook import Outlook
from bot.craft.units import Quantity
from bot.extremes import extremes
from bot.facts import Band, Count, DayStrip, Fact, Mark, Request, Term
from bot.records import meant
from bot.records.book import Answer, Book

KIND = "why"


@dataclass(frozen=True, slots=True)
class WhyThen(Fact):
    """The barrel's days to look, and that the custom and this group's record say so."""

    words: ClassVar[str] = "why.then"
    barrel: str
    first: date
    last: date
    likely: date
    start: Term


@dataclass(frozen=True, slots=True)
class WhyWarm(Fact):
    """The warmth reckoned with, and where it is from."""

    words: ClassVar[str] = "why.warm"
    warmth: Quantity
    source: Term


@dataclass(frozen=True, slots=True)
class WhyRecord(Fact):
    """How many batches stand behind it, of this group and of all."""

    words: ClassVar[str] = "why.record"
    own: Count
    everyone: Count


@dataclass(frozen=True, slots=True)
class WhyBy(Fact):
    """The chance that it is ready by a day, in tenths; custom and record say so, no promise."""

    words: ClassVar[str] = "why.by"
    barrel: str
    on: date
    tenths: int


@dataclass(frozen=True, slots=True)
class WhyHeld(Fact):
    """Custom moved the first look: the recipe's own first day goes before the reckoning."""

    words: ClassVar[str] = "why.held"
    custom: Any


def answer(request: Request, book: Book) -> Answer:
    """Temperature used and from where, the start, the batches behind it.

    Just after a caution a bare "why" asks for its reason.
    """
    if not request.slots.get("which") and (given := reasons(book)):
        return Answer(given)
    live = [each for each in book.open(batches.SUBJECT, batches.fold) if each.is_live]
    fermenting = [each for each in live if each.state == "fermenting"]
    batch = meant.one_barrel(live, request, fermenting)
    if isinstance(batch, Answer):
        return batch
    seen = book.outlook(batch)
    if seen is None:
        return Answer((meant.NoCulture(),))
    by = request.slots.get("on")
    if isinstance(by, date) and by > book.today:
        tenths = min(max(round(seen.chance_by(by) * 10), 1), 9)
        return Answer((WhyBy(batch.code, by, tenths), *extremes([seen])))
    recipe = book.recipe_of(batch.recipe)
    start = Term("start", "kept" if batch.kept_back_ml else "fresh")
    degrees = Decimal(round(sum(seen.warm.temperatures_c) / len(seen.warm.temperatures_c)))
    facts: list[Fact] = [
        WhyThen(batch.code, seen.look_on, seen.until_on, seen.likely_on, start),
        WhyWarm(Quantity(degrees, "degree_celsius"), Term("warmth_source", seen.warm.source)),
        WhyRecord(Count(Decimal(seen.batches), "batch"), Count(Decimal(seen.everyone), "batch")),
    ]
    facts += extremes([seen])
    if seen.held and seen.outside is None:
        facts.append(WhyHeld(Count(Decimal(recipe.ready.warm_days), "day")))
    facts.append(_strip(batch, seen, book))
    return Answer(tuple(facts))


def _strip(batch: batches.Batch, seen: Outlook, book: Book) -> DayStrip:
    """The days of the batch, those to look, and what was said on which."""
    return DayStrip(
        batch.code,
        batch.started_on or book.today,
        max(seen.until_on, book.today),
        book.today,
        (Band(Term("word", "look"), seen.look_on, seen.until_on),),
        tuple(Mark(Term("verdict", look.verdict), look.on) for look in batch.looks),
    )
