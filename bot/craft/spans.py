"""Runs of days, as entries name them: from a first to a last day, or weekdays."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from bot.craft.entries import Entry

_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Span:
    """A run of days, both ends in it."""

    first_on: date
    last_on: date

    def holds(self, day: date) -> bool:
        """Whether a day lies in it."""
        return self.first_on <= day <= self.last_on

    def days(self) -> Iterator[date]:
        """Its days, in order."""
        for step in range((self.last_on - self.first_on).days + 1):
            yield self.first_on + step * _DAY


def of_entry(entry: Entry, on: date) -> Span:
    """The days an entry names by `from_on` and `until_on`, else the one day it speaks of."""
    first = entry.day("from_on") or on
    return Span(first, entry.day("until_on") or first)


def weekdays_of(entry: Entry) -> frozenset[int]:
    """The weekdays an entry names (0 is Monday); empty where it names none."""
    said = entry.data.get("weekdays")
    return frozenset(int(day) for day in said) if isinstance(said, list | tuple) else frozenset()


def cut(span: Span, gone: Span) -> tuple[Span, ...]:
    """What is left of a run of days when another is taken out of it.

    >>> march = Span(date(2026, 3, 1), date(2026, 3, 9))
    >>> [(each.first_on.day, each.last_on.day) for each in cut(march, Span(
    ...     date(2026, 3, 3), date(2026, 3, 5)))]
    [(1, 2), (6, 9)]
    """
    before = Span(span.first_on, min(span.last_on, gone.first_on - _DAY))
    after = Span(max(span.first_on, gone.last_on + _DAY), span.last_on)
    return tuple(piece for piece in (before, after) if piece.first_on <= piece.last_on)
