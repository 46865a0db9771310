"""The rains have come: whoever has not sown yet hears how to treat seed, twice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import ClassVar

from bot.clock import instant
from bot.craft import plots
from bot.craft.circle import Circle
from bot.facts import Due, Fact, Rule, Tending
from bot.records.book import Answer, Book
from bot.records.together import circle_of

KIND = "sowing"
ORDER = 56
USEFUL_HOURS = 48
DAYS_AFTER = (1, 4)
"""Days after the rain on which it is said. Ours, no source."""


@dataclass(frozen=True, slots=True)
class TreatSeed(Fact):
    """Before sowing, seed is wetted with culture; what to send for the amount."""

    words: ClassVar[str] = "reminder.sowing"


def wanted(subject: object, tending: Tending) -> tuple[Rule, ...]:
    """Two days for each member, from the day after the rains were told of."""
    if not isinstance(subject, Circle) or subject.rains_on is None:
        return ()
    return tuple(
        Rule(
            KIND,
            subject.id,
            f"{subject.rains_on} {days}",
            member_id=member.id,
            zone=member.zone,
            at=member.hour,
            first_on=subject.rains_on + timedelta(days=days),
            stale="lapse",
        )
        for member in tending.outlook["people"].values()
        for days in DAYS_AFTER
    )


def facts(due: Sequence[Due], book: Book) -> Answer:
    """One line, to whoever has neither wetted seed nor sown since."""
    rains_on = circle_of(book).rains_on
    if not due or rains_on is None:
        return Answer()
    since: datetime = instant(rains_on, time(0), book.member.zone)
    wetted = any(entry.member_id == book.member.id for entry in book.log(["wetted"], since))
    sown = any(
        plot.owner_id == book.member.id and plot.begun_on is not None and plot.begun_on >= rains_on
        for plot in book.all(plots.SUBJECT, plots.fold)
    )
    return Answer() if wetted or sown else Answer((TreatSeed(),))
