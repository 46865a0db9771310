"""Dates for the rounds still owed: pure calendar arithmetic."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

_DAY = timedelta(days=1)


def every_day(_day: date) -> bool:
    """True: no day is shut."""
    return True


@dataclass(frozen=True, slots=True)
class Calendar:
    """Which days a round can be done on.

    No day before `first_on`, none after `last_on` (both inclusive; None means no end), and only
    those that `is_open` says yes to.
    """

    first_on: date
    last_on: date | None = None
    is_open: Callable[[date], bool] = every_day


@dataclass(frozen=True, slots=True)
class Pace:
    """How far apart rounds are wanted, and how close they may come, in days.

    Raises:
        ValueError: the two are not 1 <= minimum <= interval.
    """

    interval_days: int
    minimum_days: int

    def __post_init__(self) -> None:
        if not 1 <= self.minimum_days <= self.interval_days:
            raise ValueError("the shortest gap is at least a day and at most the interval")


@dataclass(frozen=True, slots=True)
class Replanned:
    """The dates that were found, and how many rounds no longer fit."""

    dates: tuple[date, ...]
    dropped: int


def replan(
    calendar: Calendar,
    pace: Pace,
    left: int,
    *,
    done_on: date | None = None,
    wanted_on: date | None = None,
    moved_to: date | None = None,
) -> Replanned:
    """The days of the `left` rounds still owed: as many as can fit, near the wanted interval.

    Every date lies in the calendar, and no two (nor the first and `done_on`, the last one done)
    come closer than the minimum. `wanted_on` is where the first would stand if nothing pressed,
    `moved_to` a day somebody named: that one is kept unless a round were lost by it. Where the
    end of the calendar presses, gaps shrink evenly before a round is dropped.

    >>> from datetime import date
    >>> done = date(2026, 3, 24)
    >>> found = replan(Calendar(done, date(2026, 4, 9)), Pace(10, 7), 2, done_on=done)
    >>> [day.isoformat() for day in found.dates], found.dropped
    (['2026-04-01', '2026-04-09'], 0)
    """
    first = calendar.first_on
    if done_on is not None:
        first = max(first, done_on + pace.minimum_days * _DAY)
    # Without an end there is always room: far enough that shut days cannot eat it up.
    end = calendar.last_on or first + timedelta(days=366 + left * pace.interval_days)
    earliest = _earliest(first, end, pace.minimum_days, left, calendar.is_open)
    latest = _latest(end, pace.minimum_days, len(earliest), calendar.is_open)
    dates: list[date] = []
    previous, low = done_on, first
    for index, limit in enumerate(latest):
        gap = pace.interval_days
        if calendar.last_on is not None and previous is not None:
            room = (end - previous).days // (len(latest) - index)
            gap = max(pace.minimum_days, min(gap, room))
        day = low if previous is None else max(previous + gap * _DAY, low)
        if index == 0:
            day = _first(day, low, wanted_on, moved_to, pressed=gap < pace.interval_days)
        while day < limit and not calendar.is_open(day):
            day += _DAY
        day = min(day, limit)
        dates.append(day)
        previous, low = day, day + pace.minimum_days * _DAY
    return Replanned(tuple(dates), left - len(dates))


def _first(
    day: date, low: date, wanted_on: date | None, moved_to: date | None, *, pressed: bool
) -> date:
    if moved_to is not None:
        return max(moved_to, low)
    if wanted_on is not None and not pressed:
        return max(wanted_on, low)
    return day


def _earliest(
    first: date, end: date, minimum_days: int, left: int, is_open: Callable[[date], bool]
) -> list[date]:
    """Earliest first is the choice that fits the most rounds."""
    days: list[date] = []
    day = first
    while len(days) < left and day <= end:
        if is_open(day):
            days.append(day)
            day += minimum_days * _DAY
        else:
            day += _DAY
    return days


def _latest(
    end: date, minimum_days: int, rounds: int, is_open: Callable[[date], bool]
) -> list[date]:
    """The latest place of each of so many rounds, counted back from the end."""
    days: list[date] = []
    day = end
    while len(days) < rounds:
        if is_open(day):
            days.append(day)
            day -= minimum_days * _DAY
        else:
            day -= _DAY
    return days[::-1]
