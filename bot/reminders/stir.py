"""Stir each day at the tender's hour, until the batch is ready or ended."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import ClassVar

from bot.clock import local_day
from bot.craft import batches
from bot.craft.batches import Batch
from bot.craft.rota import Rota
from bot.facts import Due, Fact, Option, Question, Request, Rule, Tending, Term
from bot.records.book import Answer, Book

KIND = "stir"
ORDER = 20
USEFUL_HOURS = 12
REPEAT = "same"
LONGEST_DAYS = 14
"""A batch that nobody speaks of any more is not called for ever after its ready window."""


@dataclass(frozen=True, slots=True)
class StirDue(Fact):
    """The barrels to be stirred today."""

    words: ClassVar[str] = "reminder.stir"
    barrels: tuple[str, ...]


def wanted(subject: object, tending: Tending) -> tuple[Rule, ...]:
    """One rule: each day from the day after the start, while it ferments.

    Where the group takes turns, one rule for each day, to whoever's turn it is.
    """
    if not isinstance(subject, Batch) or subject.state != "fermenting":
        return ()
    recipe = tending.settings["recipes"].get(subject.recipe)
    if recipe is None or recipe.stir_every_days is None or subject.started_on is None:
        return ()
    _first, last = batches.window(recipe, subject.started_on)
    rota: Rota | None = tending.outlook.get("rota")
    if rota is not None and rota.tenders:
        first_on = subject.started_on + timedelta(days=recipe.stir_every_days)
        last_on = last + timedelta(days=LONGEST_DAYS)
        return _by_turns(subject, tending, rota, (first_on, last_on, recipe.stir_every_days))
    return (
        Rule(
            KIND,
            subject.id,
            subject.started_on.isoformat(),
            zone=tending.zone,
            at=tending.hour,
            first_on=subject.started_on + timedelta(days=recipe.stir_every_days),
            every_days=recipe.stir_every_days,
            last_on=last + timedelta(days=LONGEST_DAYS),
        ),
    )


def _by_turns(
    batch: Batch, tending: Tending, rota: Rota, days: tuple[date, date, int]
) -> tuple[Rule, ...]:
    first_on, last_on, step = days
    today = max(local_day(tending.now, tending.zone), rota.as_of)
    found: list[Rule] = []
    for turn in rota.turns((last_on - rota.as_of).days + 1):
        member = tending.outlook["people"].get(turn.holder)
        if turn.on < max(first_on, today) or (turn.on - first_on).days % step or member is None:
            continue
        found.append(
            Rule(
                KIND,
                batch.id,
                f"turn {turn.on}",
                member_id=member.id,
                zone=member.zone,
                at=member.hour,
                first_on=turn.on,
            )
        )
    return tuple(found)


def facts(due: Sequence[Due], book: Book) -> Answer:
    """The barrels that nobody has stirred yet on their day; a bare "done" answers for them."""
    days = {each.rule.subject_id: each.due_on for each in due}
    waiting = [
        each
        for each in book.some(days, batches.SUBJECT, batches.fold)
        if each.state == "fermenting" and days[each.id] not in each.stirred_on
    ]
    if not waiting:
        return Answer()
    codes = tuple(each.code for each in waiting)
    done = Option(value=True, label=Term("answer", "stirred"))
    return Answer(
        question=Question(
            StirDue(codes), Request(KIND, {"which": codes}), "done", (done,), listed=False
        ),
        about=tuple(each.id for each in waiting),
    )
