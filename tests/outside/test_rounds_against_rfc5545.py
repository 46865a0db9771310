"""Round dates against the recurrence rules of RFC 5545, as python-dateutil works them out.

Source: RFC 5545 section 3.3.10 (FREQ, INTERVAL, COUNT, BYDAY); dateutil 2.9 as the reference.
Mark: computed by an independent library.
"""

from __future__ import annotations

from datetime import date, datetime, time

import pytest
from dateutil.rrule import DAILY, rrule, rruleset
from hypothesis import given
from hypothesis import strategies as st

from bot.craft.replan import Calendar, Pace, replan


def recurring(start: date, interval: int, times: int) -> list[date]:
    rule = rrule(DAILY, dtstart=datetime.combine(start, time()), interval=interval, count=times)
    return [moment.date() for moment in rule]


@given(
    start=st.dates(date(2020, 1, 1), date(2035, 12, 31)),
    interval=st.integers(1, 30),
    times=st.integers(1, 24),
)
def test_an_undisturbed_plan_is_a_daily_recurrence_with_interval_and_count(
    start: date, interval: int, times: int
) -> None:
    found = replan(Calendar(start), Pace(interval, 1), times)
    assert list(found.dates) == recurring(start, interval, times)


@pytest.mark.parametrize("interval", [10, 15, 20, 30])
def test_rounds_cross_month_ends_and_leap_days_as_the_calendar_does(interval: int) -> None:
    start = date(2028, 1, 25)
    found = replan(Calendar(start), Pace(interval, 7), 4)
    assert list(found.dates) == recurring(start, interval, 4)


@given(
    start=st.dates(date(2026, 1, 1), date(2027, 12, 31)),
    interval=st.integers(1, 30),
    weekday=st.integers(0, 6),
)
def test_until_a_harvest_no_more_rounds_fit_than_the_rule_has_days_left(
    start: date, interval: int, weekday: int
) -> None:
    """With the minimum equal to the interval, EXDATE of a weekday is our market day."""
    end = date.fromordinal(start.toordinal() + 60)
    days = rruleset()
    days.rrule(rrule(DAILY, dtstart=datetime.combine(start, time()), until=end_of(end)))
    days.exrule(
        rrule(DAILY, dtstart=datetime.combine(start, time()), until=end_of(end), byweekday=weekday)
    )
    open_days = {moment.date() for moment in days}
    calendar = Calendar(start, end, lambda day: day.weekday() != weekday)
    found = replan(calendar, Pace(interval, interval), 99)
    assert set(found.dates) <= open_days
    assert len(found.dates) <= len(recurring(start, interval, 60 // interval + 1))


def end_of(day: date) -> datetime:
    return datetime.combine(day, time())
