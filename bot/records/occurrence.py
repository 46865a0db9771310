"""When a rule falls due: its local days, and the one instant of each."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta

from bot.clock import instant, local_day
from bot.facts import Due, Rule


def after(rule: Rule, moment: datetime) -> Due | None:
    """The first time the rule falls due after `moment`; None when there is none.

    >>> from datetime import UTC, time
    >>> daily = Rule("stir", "s", "", "m", "UTC", date(2026, 3, 2), time(7), 1, date(2026, 3, 4))
    >>> after(daily, datetime(2026, 3, 2, 7, tzinfo=UTC)).due_on.isoformat()
    '2026-03-03'
    """
    return next(_from(rule, moment), None)


def on_day(rule: Rule, day: date) -> datetime:
    """The moment at which the rule falls due for one of its local days."""
    if rule.instant is not None or rule.at is None:
        return rule.instant or instant(day, time(0), rule.zone)
    return instant(day, rule.at, rule.zone)


def within(rule: Rule, since: datetime, until: datetime) -> list[Due]:
    """Each time the rule falls due in `(since, until]`, oldest first."""
    found = []
    for due in _from(rule, since):
        if due.due_at > until:
            break
        found.append(due)
    return found


def _from(rule: Rule, moment: datetime) -> Iterator[Due]:
    if rule.instant is not None:
        if rule.instant > moment:
            yield Due(rule, local_day(rule.instant, rule.zone), rule.instant)
        return
    if rule.first_on is None or rule.at is None:
        return
    day = _start(rule, rule.first_on, moment)
    while rule.last_on is None or day <= rule.last_on:
        due_at = instant(day, rule.at, rule.zone)
        if due_at > moment:
            yield Due(rule, day, due_at)
        if not rule.every_days:
            return
        day += timedelta(days=rule.every_days)


def _start(rule: Rule, first_on: date, moment: datetime) -> date:
    """The last day of the rule's own step at or before the day before `moment`."""
    if not rule.every_days:
        return first_on
    gone = (local_day(moment, rule.zone) - timedelta(days=1) - first_on).days
    return first_on + timedelta(days=max(0, gone // rule.every_days) * rule.every_days)
