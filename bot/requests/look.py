"""Someone looked at a barrel: ready, not yet, or bad."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import ClassVar

from bot.craft import batches
from bot.craft.batches import Batch
from bot.craft.entries import Entry
from bot.craft.units import Quantity
from bot.facts import Fact, Option, Question, Request, Term
from bot.records import meant
from bot.records.book import Answer, Book
from bot.records.changes import Recorded
from bot.records.together import shaken

KIND = "look"


@dataclass(frozen=True, slots=True)
class Ready(Fact):
    """The barrel is ready: what may be drawn, what stays in, and until when it is used."""

    words: ClassVar[str] = "look.ready"
    barrel: str
    usable: Quantity
    keep: Quantity
    best: date


@dataclass(frozen=True, slots=True)
class ReadyAll(Fact):
    """The barrel is ready and nothing is kept back of its kind."""

    words: ClassVar[str] = "look.ready-all"
    barrel: str
    usable: Quantity
    best: date


@dataclass(frozen=True, slots=True)
class ReadyToKeep(Fact):
    """It is ready, and what it still holds is just enough to start the next one."""

    words: ClassVar[str] = "look.ready-to-keep"
    barrel: str
    left: Quantity


@dataclass(frozen=True, slots=True)
class NotYet(Fact):
    """It is not ready: go on, and when it is asked again."""

    words: ClassVar[str] = "look.not-yet"
    barrel: str
    again: date


@dataclass(frozen=True, slots=True)
class Doubt(Fact):
    """It is past the last day that custom gives it: what it may lack."""

    words: ClassVar[str] = "look.doubt"
    barrel: str
    last: int


@dataclass(frozen=True, slots=True)
class Bad(Fact):
    """It is spoilt: what to do with it, that nothing is kept back, and how to start clean."""

    words: ClassVar[str] = "look.bad"
    barrel: str


@dataclass(frozen=True, slots=True)
class WhatVerdict(Fact):
    """Asks how the barrel is: ready, not yet or bad."""

    words: ClassVar[str] = "look.what-verdict"
    barrels: tuple[str, ...]


VERDICTS = tuple(
    Option(Term("verdict", name), Term("verdict", name)) for name in ("ready", "not_yet", "bad")
)


def answer(request: Request, book: Book) -> Answer:
    """Keep the judgement, and say what follows from it."""
    slots = request.slots
    live = [each for each in book.open(batches.SUBJECT, batches.fold) if each.is_live]
    chosen = meant.barrels(live, request, _likely(live, book))
    if isinstance(chosen, Answer):
        return chosen
    if len(chosen) > 1 and not slots.get("which"):
        return meant.ask_which(chosen, request)
    verdict = slots.get("verdict")
    if not isinstance(verdict, Term):
        codes = tuple(each.code for each in chosen)
        wanted = request.with_slots(which=codes)
        return Answer(
            question=Question(WhatVerdict(codes), wanted, "verdict", VERDICTS, listed=False)
        )
    on = min(slots.get("on", book.today), book.today)
    data = {"verdict": verdict.name, "on": on.isoformat()}
    entry = Entry("look", book.said_at, data)
    facts = [fact for each in chosen for fact in _facts(each, verdict.name, on, entry, book)]
    changes = [Recorded(each.id, "look", book.said_at, data) for each in chosen]
    if verdict.name == "bad":
        return Answer(tuple(facts), (*changes, *shaken(book, "spoilt", chosen[0].code)))
    return Answer(tuple(facts), tuple(changes))


def _likely(live: list[Batch], book: Book) -> list[Batch]:
    """The barrels a bare word is about: those asked about, else those that ferment."""
    about = {
        subject_id
        for each in book.pending
        if each.question.request.kind == KIND
        for subject_id in each.subject_ids
    }
    asked = [each for each in live if each.id in about]
    return asked or [each for each in live if each.state == "fermenting"]


def _facts(batch: Batch, verdict: str, on: date, entry: Entry, book: Book) -> tuple[Fact, ...]:
    if verdict != "not_yet":
        return (_judged(batch, verdict, on, book),)
    head, entries = book.told(batch.id)
    seen = book.outlook(batches.fold(head, [*entries, entry]))
    tomorrow = on + timedelta(days=1)
    not_yet = NotYet(batch.code, max(seen.look_on, tomorrow) if seen else tomorrow)
    if seen is None or on <= seen.doubt_on:
        return (not_yet,)
    return not_yet, Doubt(batch.code, book.recipe_of(batch.recipe).ready.cool_days)


def _judged(batch: Batch, verdict: str, on: date, book: Book) -> Fact:
    recipe = book.recipe_of(batch.recipe)
    if verdict == "bad":
        return Bad(batch.code)
    best, _last = batches.use_by(recipe, on)
    keep_ml = batches.keep_back_ml(recipe, batch.size_ml)
    usable = Quantity(Decimal(batch.usable_ml(recipe)), "millilitre")
    if keep_ml and not usable.value:
        return ReadyToKeep(batch.code, Quantity(Decimal(batch.left_ml), "millilitre"))
    if not keep_ml:
        return ReadyAll(batch.code, usable, best)
    return Ready(batch.code, usable, Quantity(Decimal(keep_ml), "millilitre"), best)
