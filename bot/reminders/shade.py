"""Wetted seed has lain in shade long enough: sow it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from bot.craft import shade
from bot.craft.shade import Shade
from bot.facts import Due, Fact, Rule, Tending
from bot.records.book import Answer, Book

KIND = "shade"
ORDER = 5
USEFUL_HOURS = 6
CEILING = "alert"
LAPSE_HOURS = 6


@dataclass(frozen=True, slots=True)
class SowNow(Fact):
    """The time in shade is over."""

    words: ClassVar[str] = "reminder.shade"


def wanted(subject: object, tending: Tending) -> tuple[Rule, ...]:
    """One rule, at the instant the seed comes out of the shade; to whoever wetted it."""
    if not isinstance(subject, Shade):
        return ()
    return (
        Rule(
            KIND,
            subject.id,
            subject.wetted_at.isoformat(),
            member_id=tending.member_id,
            zone=tending.zone,
            instant=subject.sow_at,
            stale="lapse",
            lapse_hours=LAPSE_HOURS,
        ),
    )


def facts(due: Sequence[Due], book: Book) -> Answer:
    """One line, whatever was wetted."""
    ids = {each.rule.subject_id for each in due}
    lots = book.some(ids, shade.SUBJECT, shade.fold)
    return Answer((SowNow(),) if lots else (), about=tuple(lot.id for lot in lots))
