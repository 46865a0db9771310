"""A turn at stirring of which nobody told passes to the next, and in the evening to the keeper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import time, timedelta
from typing import Any, ClassVar

from bot.clock import local_day
from bot.craft import batches
from bot.craft.batches import Batch
from bot.craft.rota import Rota
from bot.facts import Due, Fact, Option, Question, Request, Rule, Tending, Term
from bot.records.book import Answer, Book
from bot.records.together import called, rota_of

KIND = "stir_passed"
ORDER = 21
USEFUL_HOURS = 8
REPEAT = "same"
CEILING = "alert"
HOURS = (12, 17)
"""When the next one, and then the keeper, is asked. Ours, no source."""
LONGEST_DAYS = 14
SILENT_TURNS = 3
"""A group of whose last so many turns nobody told is not woken: there, silence says nothing."""


@dataclass(frozen=True, slots=True)
class StirPassed(Fact):
    """Nobody has told of stirring these barrels today; whose turn it was; can you?"""

    words: ClassVar[str] = "reminder.stir-passed"
    barrels: tuple[str, ...]
    who: Any


def wanted(subject: object, tending: Tending) -> tuple[Rule, ...]:
    """For each day of a batch that the group stirs in turns: the next one, then a keeper."""
    rota: Rota | None = tending.outlook.get("rota")
    if not isinstance(subject, Batch) or subject.state != "fermenting" or rota is None:
        return ()
    recipe = tending.settings["recipes"].get(subject.recipe)
    if recipe is None or recipe.stir_every_days is None or subject.started_on is None:
        return ()
    first_on = subject.started_on + timedelta(days=recipe.stir_every_days)
    last_on = batches.window(recipe, subject.started_on)[1] + timedelta(days=LONGEST_DAYS)
    today = max(local_day(tending.now, tending.zone), rota.as_of)
    found: list[Rule] = []
    for turn in rota.turns((last_on - rota.as_of).days + 1):
        if turn.on < max(first_on, today) or (turn.on - first_on).days % recipe.stir_every_days:
            continue
        for hour, who in zip(HOURS, _after(turn.chain, turn.passed), strict=False):
            member = tending.outlook["people"].get(who)
            if member is not None:
                found.append(
                    Rule(
                        KIND,
                        subject.id,
                        f"{turn.on} {hour}",
                        member_id=who,
                        zone=member.zone,
                        at=max(time(hour), member.hour),
                        first_on=turn.on,
                        stale="lapse",
                        lapse_hours=4,
                    )
                )
    return tuple(found)


def _after(chain: Sequence[str], passed: int) -> tuple[str, ...]:
    """Who comes after the one who has the turn: the next, and at last a keeper."""
    rest = chain[passed + 1 :]
    return tuple(dict.fromkeys((*rest[:1], *rest[-1:])))


def facts(due: Sequence[Due], book: Book) -> Answer:
    """The barrels that nobody has told of on that day, if it is still the day."""
    days = {each.rule.subject_id: each.due_on for each in due if each.due_on == book.today}
    waiting = [
        each
        for each in book.some(days, batches.SUBJECT, batches.fold)
        if each.state == "fermenting" and days[each.id] not in each.stirred_on
    ]
    if not waiting:
        return Answer()
    codes = tuple(each.code for each in waiting)
    rota = rota_of(book)
    past = rota.past[-SILENT_TURNS:]
    if len(past) == SILENT_TURNS and all(turn.state == "not_reported" for turn in past):
        return Answer()
    holder = rota.turn(book.today).holder
    who = called(next((each for each in book.members() if each.id == holder), None))
    done = Option(value=True, label=Term("answer", "stirred"))
    request = Request("stir", {"which": codes})
    return Answer(
        question=Question(StirPassed(codes, who), request, "done", (done,), listed=False),
        about=tuple(each.id for each in waiting),
    )
