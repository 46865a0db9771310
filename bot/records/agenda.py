"""What a member has to do on a day, said already or not."""

from __future__ import annotations

from datetime import date, time, timedelta

from sqlalchemy import Connection, select

from bot.clock import instant
from bot.records import occurrence, rules
from bot.records.tables import fired, rule, subject


def agenda(tx: Connection, member_id: str, on: date) -> list[tuple[str, str]]:
    """The tasks of a member's local day, said already or not: kinds with short names.

    What only announces another day's task is none: who asks for today must not spray a day early.
    """
    rows = tx.execute(
        select(rule, subject.c.code)
        .join(subject, subject.c.id == rule.c.subject_id)
        .where(
            rule.c.member_id == member_id,
            subject.c.void.is_(False),
            subject.c.closed_at.is_(None),
            rule.c.key.not_like("%-"),
        )
        .order_by(rule.c.id)
    )
    found = []
    for row in rows:
        if row.due_at is None and row.due_on is None and not _was_said(tx, row.id, on):
            continue
        each = rules.rule_of(row)
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
