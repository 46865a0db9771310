"""Due rules: wanted ones reconciled with kept ones, due ones taken, each local day at most once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from sqlalchemy import Connection, Row, delete, func, insert, select, update

from bot.clock import instant
from bot.facts import Due, Rule
from bot.records import occurrence
from bot.records.tables import fired, outbox, rule, subject


@dataclass(frozen=True, slots=True)
class Taken:
    """One rule's due day, taken for saying; `skipped` older days were folded into it."""

    rule_id: int
    due: Due
    skipped: int
    lapsed: bool


def reconcile(
    tx: Connection, subject_id: str, wanted: Sequence[Rule], tender_id: str, now: datetime
) -> None:
    """Make the kept rules of a subject the wanted ones; a day that was said is not said again."""
    kept = {
        (row.kind, row.key, row.member_id): row
        for row in tx.execute(select(rule).where(rule.c.subject_id == subject_id))
    }
    for each in wanted:
        owner = each.member_id or tender_id
        row = kept.pop((each.kind, each.key, owner), None)
        values = _columns(each)
        if row is not None and all(getattr(row, name) == value for name, value in values.items()):
            continue
        if row is None:
            due = occurrence.after(each, now)
            tx.execute(
                insert(rule).values(
                    kind=each.kind,
                    subject_id=subject_id,
                    key=each.key,
                    member_id=owner,
                    tended=each.member_id is None,
                    due_on=due.due_on if due else None,
                    due_at=due.due_at if due else None,
                    **values,
                )
            )
        else:
            due = _unsaid(tx, row.id, each, now)
            tx.execute(
                update(rule)
                .where(rule.c.id == row.id)
                .values(
                    due_on=due.due_on if due else None,
                    due_at=due.due_at if due else None,
                    **values,
                )
            )
    if kept:
        gone = [row.id for row in kept.values()]
        tx.execute(update(rule).where(rule.c.id.in_(gone)).values(due_on=None, due_at=None))


def owners_due(tx: Connection, now: datetime, limit: int) -> list[str]:
    """Members with something due at `now`, the longest waiting first."""
    rows = tx.execute(
        select(rule.c.member_id)
        .where(rule.c.due_at <= now)
        .group_by(rule.c.member_id)
        .order_by(func.min(rule.c.due_at))
        .limit(limit)
    )
    return [row.member_id for row in rows]


def take(tx: Connection, member_id: str, now: datetime, until: datetime) -> list[Taken]:
    """Everything due for one member up to `until`, advanced past it.

    Missed days of a rule fold into its newest; one that is too old to be of use has lapsed.
    """
    taken: list[Taken] = []
    rows = tx.execute(
        select(rule)
        .where(rule.c.member_id == member_id, rule.c.due_at <= until)
        .order_by(rule.c.due_at, rule.c.id)
    ).all()
    for row in rows:
        each = _rule(row)
        first = Due(each, row.due_on, row.due_at)
        missed = [first, *occurrence.within(each, row.due_at, until)]
        newest = missed[-1]
        for older in missed[:-1]:
            _mark(tx, row.id, older, "folded", now)
        late = now - newest.due_at
        lapsed = each.stale != "always" and late > timedelta(hours=each.lapse_hours)
        _mark(tx, row.id, newest, "lapsed" if lapsed else "taken", now)
        taken.append(Taken(row.id, newest, len(missed) - 1, lapsed))
        following = _unsaid(tx, row.id, each, max(newest.due_at, now))
        tx.execute(
            update(rule)
            .where(rule.c.id == row.id)
            .values(
                due_on=following.due_on if following else None,
                due_at=following.due_at if following else None,
            )
        )
    return taken


def said(tx: Connection, taken: Iterable[Taken], outbox_id: int | None) -> None:
    """What became of the taken days: in an outbox row, or of no use any more."""
    for each in taken:
        if not each.lapsed:
            tx.execute(
                update(fired)
                .where(fired.c.rule_id == each.rule_id, fired.c.due_on == each.due.due_on)
                .values(became="said" if outbox_id else "moot", outbox_id=outbox_id)
            )


def give_up(tx: Connection, member_id: str, now: datetime) -> None:
    """Pass over what is due for a member but cannot be said, so that the rest goes on."""
    for each in take(tx, member_id, now, now):
        tx.execute(
            update(fired)
            .where(fired.c.rule_id == each.rule_id, fired.c.due_on == each.due.due_on)
            .values(became="failed")
        )


def recall(tx: Connection, subject_id: str, now: datetime) -> None:
    """Take back words about a subject that nobody was sent yet: they fall due again, as of now."""
    rows = tx.execute(
        select(fired.c.outbox_id)
        .join(rule, rule.c.id == fired.c.rule_id)
        .join(outbox, outbox.c.id == fired.c.outbox_id)
        .where(rule.c.subject_id == subject_id, outbox.c.status == "waiting")
        .distinct()
    ).scalars()
    for outbox_id in list(rows):
        days = tx.execute(select(fired).where(fired.c.outbox_id == outbox_id)).all()
        for day in days:
            tx.execute(
                delete(fired).where(fired.c.rule_id == day.rule_id, fired.c.due_on == day.due_on)
            )
            tx.execute(
                update(rule)
                .where(rule.c.id == day.rule_id)
                .values(due_on=day.due_on, due_at=min(now, day.at))
            )
        tx.execute(
            update(outbox)
            .where(outbox.c.id == outbox_id)
            .values(status="dropped", cause="overtaken")
        )


def agenda(tx: Connection, member_id: str, on: date) -> list[tuple[str, str]]:
    """What is due for a member on a local day, said already or not: kinds with short names."""
    rows = tx.execute(
        select(rule, subject.c.code)
        .join(subject, subject.c.id == rule.c.subject_id)
        .where(
            rule.c.member_id == member_id,
            subject.c.void.is_(False),
            subject.c.closed_at.is_(None),
        )
        .order_by(rule.c.id)
    )
    found = []
    for row in rows:
        if row.due_at is None and row.due_on is None and not _was_said(tx, row.id, on):
            continue
        each = _rule(row)
        midnight = instant(on, time(0), each.zone)
        before = midnight - timedelta(microseconds=1)
        found += [
            (due.due_at, each.kind, row.code)
            for due in occurrence.within(each, before, before + timedelta(days=1, hours=1))
            if due.due_on == on
        ]
    return [(kind, code) for _at, kind, code in sorted(found)]


def _was_said(tx: Connection, rule_id: int, on: date) -> bool:
    return (
        tx.execute(
            select(fired.c.rule_id).where(fired.c.rule_id == rule_id, fired.c.due_on == on)
        ).first()
        is not None
    )


def next_due(tx: Connection) -> datetime | None:
    """When the next rule falls due."""
    return tx.execute(select(func.min(rule.c.due_at))).scalar()


def _unsaid(tx: Connection, rule_id: int, each: Rule, moment: datetime) -> Due | None:
    done = set(tx.execute(select(fired.c.due_on).where(fired.c.rule_id == rule_id)).scalars())
    due = occurrence.after(each, moment)
    while due is not None and due.due_on in done:
        due = occurrence.after(each, due.due_at)
    return due


def _mark(tx: Connection, rule_id: int, due: Due, became: str, now: datetime) -> None:
    tx.execute(insert(fired).values(rule_id=rule_id, due_on=due.due_on, became=became, at=now))


def _columns(each: Rule) -> dict[str, Any]:
    return {
        "zone": each.zone,
        "first_on": each.first_on,
        "at": each.at.strftime("%H:%M") if each.at else None,
        "every_days": each.every_days,
        "last_on": each.last_on,
        "instant": each.instant,
        "stale": each.stale,
        "lapse_hours": each.lapse_hours,
    }


def _rule(row: Row[Any]) -> Rule:
    return Rule(
        kind=row.kind,
        subject_id=row.subject_id,
        key=row.key,
        member_id=row.member_id,
        zone=row.zone,
        first_on=row.first_on,
        at=time.fromisoformat(row.at) if row.at else None,
        every_days=row.every_days,
        last_on=row.last_on,
        instant=row.instant,
        stale=row.stale,
        lapse_hours=row.lapse_hours,
    )
