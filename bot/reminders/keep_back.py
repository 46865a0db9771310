"""Keep a share back once a ready batch was drawn off, so that the line goes on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import ClassVar

from bot.craft import batches
from bot.craft.batches import Batch
from bot.craft.units import Quantity
from bot.facts import Due, Fact, Rule, Tending
from bot.records.book import Answer, Book

KIND = "keep_back"
ORDER = 40
USEFUL_HOURS = 30


@dataclass(frozen=True, slots=True)
class KeepDue(Fact):
    """How much of a barrel to keep for the next start, and what to send when it is done."""

    words: ClassVar[str] = "reminder.keep-back"
    barrel: str
    keep: Quantity


def wanted(subject: object, tending: Tending) -> tuple[Rule, ...]:
    """The day after the last drawing, and once more two days later."""
    if not isinstance(subject, Batch) or subject.state != "ready" or not subject.draws:
        return ()
    recipe = tending.settings["recipes"].get(subject.recipe)
    if recipe is None or not batches.keep_back_ml(recipe, subject.size_ml) or subject.kept_ml:
        return ()
    first = subject.draws[-1].on + timedelta(days=1)
    return (
        Rule(
            KIND,
            subject.id,
            first.isoformat(),
            zone=tending.zone,
            at=tending.hour,
            first_on=first,
            every_days=2,
            last_on=first + timedelta(days=2),
        ),
    )


def facts(due: Sequence[Due], book: Book) -> Answer:
    """One line for each barrel that still waits."""
    waiting = [
        each
        for each in book.some({each.rule.subject_id for each in due}, batches.SUBJECT, batches.fold)
        if each.state == "ready" and not each.kept_ml
    ]
    return Answer(
        tuple(
            KeepDue(
                each.code,
                Quantity(
                    Decimal(
                        min(
                            batches.keep_back_ml(book.recipe_of(each.recipe), each.size_ml),
                            each.left_ml,
                        )
                    ),
                    "millilitre",
                ),
            )
            for each in waiting
        ),
        about=tuple(each.id for each in waiting),
    )
