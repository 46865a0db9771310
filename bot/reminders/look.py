"""Look whether a batch is ready: asked three days running, once more, then silence."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import ClassVar

from bot.craft import batches
from bot.craft.batches import Batch
from bot.craft.outlook import Outlook
from bot.facts import Due, Fact, Option, Question, Request, Rule, Tending, Term
from bot.records.book import Answer, Book

KIND = "look"
ORDER = 30
USEFUL_HOURS = 30
REPEAT = "same"
IN_A_ROW = 3
INSPECT = "inspect"
ONCE_MORE_AFTER = 5
"""Days from the first asking to the last. Ours, no source."""


@dataclass(frozen=True, slots=True)
class LookDue(Fact):
    """The barrels to look at, what ripeness looks and smells like, and what says bad."""

    words: ClassVar[str] = "reminder.look"
    barrels: tuple[str, ...]
    signs: tuple[Term, ...]
    spoilt: tuple[Term, ...]


@dataclass(frozen=True, slots=True)
class InspectDue(Fact):
    """Barrels that take far longer than any here did: what may be wrong with them."""

    words: ClassVar[str] = "reminder.inspect"
    barrels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LookLate(Fact):
    """The same where one may well have been ready before today: to say since when, as on a day."""

    words: ClassVar[str] = "reminder.look-late"
    barrels: tuple[str, ...]
    signs: tuple[Term, ...]
    example: date


def wanted(subject: object, tending: Tending) -> tuple[Rule, ...]:
    """Three days running from the first day of the window or the day after a "not yet"."""
    if not isinstance(subject, Batch) or subject.state != "fermenting":
        return ()
    seen: Outlook | None = tending.outlook.get("batch")
    if seen is None:
        return ()
    first = seen.look_on
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

    inspect = Rule(
        KIND,
        subject.id,
        INSPECT,
        zone=tending.zone,
        at=tending.hour,
        first_on=seen.inspect_on,
        stale="always",
    )
    return (rule("", 0, IN_A_ROW), rule("+", ONCE_MORE_AFTER, 1), inspect)


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
    late = tuple(
        each.code
        for each in waiting
        if any(one.rule.subject_id == each.id and one.rule.key == INSPECT for one in due)
    )
    ready = [book.recipe_of(each.recipe).ready for each in waiting]
    looked_for = _signs(sign for each in ready for sign in each.signs)
    codes = tuple(each.code for each in waiting)
    ask: Fact = LookDue(codes, looked_for, _signs(sign for each in ready for sign in each.spoilt))
    if any(_sooner(each, days[each.id], book) for each in waiting):
        ask = LookLate(codes, looked_for, book.today - timedelta(days=1))
    options = tuple(
        Option(Term("verdict", name), Term("verdict", name)) for name in ("ready", "not_yet", "bad")
    )
    return Answer(
        (InspectDue(late),) if late else (),
        question=Question(ask, Request(KIND), "verdict", options, valid_hours=24 * 5, listed=False),
        about=tuple(each.id for each in waiting),
    )


def _signs(names: Iterable[str]) -> tuple[Term, ...]:
    """Each sign once, in the recipe's order."""
    return tuple(Term("sign", name) for name in dict.fromkeys(names))


def _sooner(batch: Batch, on: date, book: Book) -> bool:
    """Whether this is the first look, put off by practice though it may well be ready already."""
    seen = book.outlook(batch)
    return seen is not None and seen.sooner and seen.look_on == on
