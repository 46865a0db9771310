"""When a crop is harvested or picked: rounds stop before it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from bot import guard
from bot.craft.entries import Entry
from bot.facts import Fact, Question, Request, Term
from bot.records.book import Answer, Book
from bot.records.changes import Recorded
from bot.records.meant import one_plan, plan_after

KIND = "harvest"


@dataclass(frozen=True, slots=True)
class Guarded(Fact):
    """Rounds stop before the harvest: the days that stay."""

    words: ClassVar[str] = "rounds.guarded"
    crop: Term
    harvest: date
    stop_days: int
    days: tuple[date, ...]


@dataclass(frozen=True, slots=True)
class NoneBefore(Fact):
    """No round fits before the harvest any more."""

    words: ClassVar[str] = "rounds.none-fit"
    crop: Term
    harvest: date


@dataclass(frozen=True, slots=True)
class WhenHarvest(Fact):
    """Asks for the day of the harvest or the first picking."""

    words: ClassVar[str] = "rounds.when-harvest"
    crop: Term


def answer(request: Request, book: Book) -> Answer:
    """Keep the day; say which rounds stay before it."""
    plan = one_plan(request, book)
    if isinstance(plan, Answer):
        return plan
    crop = Term("crop", plan.crop)
    on = request.slots.get("on")
    if on is None:
        return Answer(question=Question(WhenHarvest(crop), request, "on"))
    every = request.slots.get("every")
    data: dict[str, object] = {}
    if request.slots.get("first") or every is not None:
        data["first_pick_on"] = on.isoformat()
        if every is not None:
            data["pick_every_days"] = every.days
    else:
        data["harvest_on"] = on.isoformat()
    recipe = book.recipes.get(plan.dose.recipe)
    stop_days = guard.stop_days(book, recipe, plan.dose.use, plan.crop) if recipe else None
    if stop_days is not None:
        data["stop_days"] = stop_days
    after = plan_after(plan, Entry("harvest", book.said_at, data), book)
    change = Recorded(plan.id, "harvest", book.said_at, data)
    if not after.dates:
        return Answer((NoneBefore(crop, on),), (change,))
    return Answer((Guarded(crop, on, after.harvest.stop_days, after.dates),), (change,))
