"""What is due today, or on another day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any, ClassVar

from bot.facts import Fact, Request, Term
from bot.naming import named
from bot.records.book import Answer, Book

KIND = "today"
ONLY_IF_NEEDED = frozenset({"keeper_list", "stir_passed", "replanned"})
"""Kinds that look each day whether there is something to say: no task of the day."""


@dataclass(frozen=True, slots=True)
class Agenda(Fact):
    """What is due on a day, each task with the barrels or crops it is about."""

    words: ClassVar[str] = "today.agenda"
    on: date
    tasks: tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Task(Fact):
    """One task of a day."""

    words: ClassVar[str] = "today.task"
    task: Term
    codes: tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class NothingDue(Fact):
    """Nothing is due on that day."""

    words: ClassVar[str] = "today.nothing"
    on: date


def answer(request: Request, book: Book) -> Answer:
    """The tasks of the day in the order of their hour."""
    on = request.slots.get("on", book.today)
    tasks: dict[str, list[str]] = {}
    for kind, code in book.agenda(on):
        if kind in ONLY_IF_NEEDED:
            continue
        tasks.setdefault(kind, [])
        if code and code not in tasks[kind]:
            tasks[kind].append(code)
    if not tasks:
        return Answer((NothingDue(on),))
    told = tuple(
        Task(Term("task", kind), tuple(named(code) for code in codes))
        for kind, codes in tasks.items()
    )
    return Answer((Agenda(on, told),))
