"""Where a batch comes from: the fillings it descends from, its generation, and when to renew."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import ClassVar

from bot.craft import batches, lineage
from bot.craft.batches import Batch
from bot.facts import Count, Fact, Request, Term
from bot.records import meant
from bot.records.book import Answer, Book

KIND = "lineage"

MOST_SHOWN = 6
"""Of a longer line the first filling and the newest are named: two SMS hold no more."""


@dataclass(frozen=True, slots=True)
class Filling(Fact):
    """One filling of a line: its barrel and the day it was started."""

    words: ClassVar[str] = "lineage.filling"
    barrel: str
    on: date


@dataclass(frozen=True, slots=True)
class Generation(Fact):
    """Which filling of its line it is, and how old the line is."""

    words: ClassVar[str] = "lineage.generation"
    barrel: str
    recipe: Term
    generation: int
    age: Count


@dataclass(frozen=True, slots=True)
class FirstOne(Fact):
    """It is the first of its line, from a fresh start."""

    words: ClassVar[str] = "lineage.first"
    barrel: str
    recipe: Term
    on: date


@dataclass(frozen=True, slots=True)
class From(Fact):
    """The fillings it descends from, the oldest first, itself last."""

    words: ClassVar[str] = "lineage.from"
    fillings: tuple[Fact | str, ...]


@dataclass(frozen=True, slots=True)
class BeforeRecord(Fact):
    """The line began with culture that no batch on record gave."""

    words: ClassVar[str] = "lineage.before-record"


@dataclass(frozen=True, slots=True)
class CarryOn(Fact):
    """The line may be carried on so often before a fresh starter is due."""

    words: ClassVar[str] = "lineage.carry-on"
    plural: ClassVar[str] = "more"
    more: int
    generations: int


@dataclass(frozen=True, slots=True)
class LastOne(Fact):
    """One filling more, then from a fresh starter."""

    words: ClassVar[str] = "lineage.last-one"
    generations: int


@dataclass(frozen=True, slots=True)
class Renew(Fact):
    """The line has run its fillings: the next begins from a fresh starter."""

    words: ClassVar[str] = "lineage.renew"
    generations: int


@dataclass(frozen=True, slots=True)
class Spoilt(Fact):
    """It was said to be bad: nothing of it starts another."""

    words: ClassVar[str] = "lineage.spoilt"


def answer(request: Request, book: Book) -> Answer:
    """Its generation and age first, then the fillings before it, then whether to renew."""
    every = book.all(batches.SUBJECT, batches.fold)
    known = [each for each in every if each.started_on is not None]
    live = [each for each in known if each.is_live]
    batch = meant.one_barrel(known, request, live)
    if isinstance(batch, Answer):
        return batch
    line = lineage.line(batch, {each.id: each for each in every})
    recipe = book.recipe_of(batch.recipe)
    term, first = Term("recipe", batch.recipe), line[0]
    started = first.started_on or book.today
    facts: list[Fact] = []
    if len(line) == 1 and not first.kept_back_ml:
        facts.append(FirstOne(batch.code, term, started))
    else:
        age = Count(Decimal((book.today - started).days), "day")
        facts.append(Generation(batch.code, term, batch.generation, age))
        if len(line) > 1:
            facts.append(From(_shown(line)))
        if first.kept_back_ml:
            facts.append(BeforeRecord())
    if not lineage.may_be_kept_back(batch):
        facts.append(Spoilt())
    elif recipe.generations is not None:
        more = recipe.generations - batch.generation
        facts.append(
            {
                "carry_on": CarryOn(more, recipe.generations),
                "last_one": LastOne(recipe.generations),
                "fresh_starter": Renew(recipe.generations),
            }[lineage.renewal(batch, recipe)]
        )
    return Answer(tuple(facts))


def _shown(line: tuple[Batch, ...]) -> tuple[Fact | str, ...]:
    every = tuple(Filling(each.code, each.started_on) for each in line if each.started_on)
    if len(every) <= MOST_SHOWN:
        return every
    return (every[0], "...", *every[1 - MOST_SHOWN :])
