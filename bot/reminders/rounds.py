"""A round is announced the evening before and on the day, with its own amounts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import ClassVar

from bot import care
from bot.craft import mixing
from bot.craft import rounds as plans
from bot.craft.dose import Dose
from bot.craft.round_plan import Rounds
from bot.facts import Due, Fact, Option, Question, Ratio, Request, Rule, Tending, Term
from bot.pours import ByRecipe, ByRecipeAsItIs, poured
from bot.records.book import Answer, Book

KIND = "rounds"
ORDER = 10
USEFUL_HOURS = 10
CEILING = "alert"
EVENING = time(18)
"""When a round is announced on the day before. Ours, no source."""


@dataclass(frozen=True, slots=True)
class RoundTomorrow(Fact):
    """The crop's round of tomorrow."""

    words: ClassVar[str] = "reminder.round-tomorrow"
    crop: Term
    use: Term
    on: date


@dataclass(frozen=True, slots=True)
class RoundToday(Fact):
    """The crop's round of today."""

    words: ClassVar[str] = "reminder.round-today"
    crop: Term
    use: Term


@dataclass(frozen=True, slots=True)
class RoundLast(Fact):
    """It is the last round."""

    words: ClassVar[str] = "reminder.round-last"


@dataclass(frozen=True, slots=True)
class ReportRound(Fact):
    """How to tell that it was done, rained on, or left out."""

    words: ClassVar[str] = "reminder.round-report"


def wanted(subject: object, tending: Tending) -> tuple[Rule, ...]:
    """Two rules for each coming day of the plan."""
    if not isinstance(subject, Rounds):
        return ()

    def rule(day: date, at: time, key: str) -> Rule:
        return Rule(KIND, subject.id, key, zone=tending.zone, at=at, first_on=day, stale="lapse")

    return tuple(
        each
        for day in subject.dates
        for each in (
            rule(day - timedelta(days=1), EVENING, f"{day}-"),
            rule(day, tending.hour, f"{day}"),
        )
    )


def facts(due: Sequence[Due], book: Book) -> Answer:
    """The amounts of each round, per tank first; "sprayed" or "done" answers on the day."""
    days = {each.rule.subject_id: each for each in due}
    said: list[Fact] = []
    about: list[str] = []
    today: list[Rounds] = []
    for plan in book.some(days, plans.SUBJECT, plans.fold):
        each = days[plan.id]
        eve = each.rule.key.endswith("-")
        day = each.due_on + timedelta(days=1) if eve else each.due_on
        if day not in plan.ahead(each.due_on).dates:
            continue
        crop, use = Term("crop", plan.crop), Term("use", plan.dose.use)
        said.append(RoundTomorrow(crop, use, day) if eve else RoundToday(crop, use))
        said.extend(_amounts(plan.ahead(each.due_on).dose_on(day)))
        recipe = book.recipes.get(plan.dose.recipe)
        if not eve and recipe is not None:
            nth = plan.ahead(each.due_on).number(day) - 1
            said.extend(care.alert(book, recipe, plan.dose.use, plan.crop, nth))
        if plan.is_last(day):
            said.append(RoundLast())
        about.append(plan.id)
        if not eve:
            today.append(plan)
    if not said:
        return Answer()
    if not today:
        return Answer(tuple(said), about=tuple(about))
    done = Option(value=True, label=Term("answer", "sprayed"))
    request = Request("sprayed")
    return Answer(
        tuple(said),
        question=Question(ReportRound(), request, "done", (done,), valid_hours=72, listed=False),
        about=tuple(each.id for each in today),
    )


def _amounts(dose: Dose) -> tuple[Fact, ...]:
    strength = mixing.parts(dose.culture_parts, dose.water_parts)
    mix = mixing.mix_of(dose.mix_ml, strength, dose.tank_ml)
    recipe, use = Term("recipe", dose.recipe), Term("use", dose.use)
    named: Fact = (
        ByRecipe(recipe, use, Ratio(dose.culture_parts, dose.water_parts))
        if dose.water_parts
        else ByRecipeAsItIs(recipe, use)
    )
    return poured(mix, dose.tank_ml, named)
