"""Use what is ready before it is past its best."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import ClassVar

from bot.craft import batches
from bot.craft.batches import Batch
from bot.craft.units import Quantity
from bot.facts import Due, Fact, Rule, Tending
from bot.records.book import Answer, Book

KIND = "use_by"
ORDER = 50
USEFUL_HOURS = 48
DAYS_BEFORE = 2


@dataclass(frozen=True, slots=True)
class UseSoon(Fact):
    """What a ready barrel still holds, and until when it is at its best."""

    words: ClassVar[str] = "reminder.use-by"
    barrel: str
    left: Quantity
    best: date


def wanted(subject: object, tending: Tending) -> tuple[Rule, ...]:
    """Two days before a ready batch is past its best."""
    if not isinstance(subject, Batch) or subject.state != "ready" or subject.ready_on is None:
        return ()
    recipe = tending.settings["recipes"].get(subject.recipe)
    if recipe is None or not subject.left_ml:
        return ()
    best, _last = batches.use_by(recipe, subject.ready_on)
    return (
        Rule(
            KIND,
            subject.id,
            subject.ready_on.isoformat(),
            zone=tending.zone,
            at=tending.hour,
            first_on=best - timedelta(days=DAYS_BEFORE),
            stale="always",
        ),
    )


def facts(due: Sequence[Due], book: Book) -> Answer:
    """One line for each barrel that still holds something."""
    ids = {each.rule.subject_id for each in due}
    waiting = [
        each
        for each in book.some(ids, batches.SUBJECT, batches.fold)
        if each.state == "ready" and each.left_ml and each.ready_on
    ]
    return Answer(
        tuple(
            UseSoon(
                each.code,
                Quantity(Decimal(each.left_ml), "millilitre"),
                batches.use_by(book.recipe_of(each.recipe), each.ready_on or book.today)[0],
            )
            for each in waiting
        ),
        about=tuple(each.id for each in waiting),
    )
