"""Look whether a batch is ready: asked three days running, once more, then silence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import ClassVar

from bot.craft import batches
from bot.craft.batches import Batch
from bot.facts import Due, Fact, Option, Question, Request, Rule, Tending, Term
from bot.records.book import Answer, Book

KIND = "look"
ORDER = 30
USEFUL_HOURS = 30
REPEAT = "same"
IN_A_ROW = 3
ONCE_MORE_AFTER = 5
"""Days from the first asking to the last. Ours, no source."""


@dataclass(frozen=True, slots=True)
class LookDue(Fact):
    """The barrels to look at, and what ripeness looks and smells like."""

    words: ClassVar[str] = "reminder.look"
    barrels: tuple[str, ...]
    signs: tuple[Term, ...]


def wanted(subject: object, tending: Tending) -> tuple[Rule, ...]:
    """Three days running from the first day of the window or the day after a "not yet"."""
    if not isinstance(subject, Batch) or subject.state != "fermenting":
        return ()
    recipe = tending.settings["recipes"].get(subject.recipe)
    if recipe is None or subject.started_on is None:
        return ()
    first, _last = batches.window(recipe, subject.started_on)
    refused = [look.on for look in subject.looks if look.verdict == "not_yet"]
    if refused:
        first = max(first, refused[-1] + timedelta(days=1))
    key = first.isoformat()

    def rule(suffix: str, from_days: int, days: int) -> Rule:
        return Rule(
            KIND,
            subject.id,
            f"{key}{suffix}",
            zone=tending.zone,
            at=tending.hour,
            first_on=first + timedelta(days=from_days),
            every_days=1,
            last_on=first + timedelta(days=from_days + days - 1),
            stale="always",
        )

    return (rule("", 0, IN_A_ROW), rule("+", ONCE_MORE_AFTER, 1))


def facts(due: Sequence[Due], book: Book) -> Answer:
    """The barrels nobody has judged yet that day; "ready", "not yet" or "bad" answers."""
    days = {each.rule.subject_id: each.due_on for each in due}
    waiting = [
        each
        for each in book.some(days, batches.SUBJECT, batches.fold)
        if each.state == "fermenting" and all(look.on < days[each.id] for look in each.looks)
    ]
    if not waiting:
        return Answer()
    signs = dict.fromkeys(
        sign for each in waiting for sign in book.recipes[each.recipe].ready.signs
    )
    ask = LookDue(tuple(each.code for each in waiting), tuple(Term("sign", sign) for sign in signs))
    options = tuple(
        Option(Term("verdict", name), Term("verdict", name)) for name in ("ready", "not_yet", "bad")
    )
    return Answer(
        question=Question(ask, Request(KIND), "verdict", options, valid_hours=24 * 5, listed=False),
        about=tuple(each.id for each in waiting),
    )
