"""What an operator counts: what waits, since when, what became of the rest."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Select, func, select, text

from bot.records import leases, rules, tallies, timekeeping
from bot.records.tables import address, fired, inbox, member, outbox, rule

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Counts:
    """Numbers of now (waiting, due) and of the last 24 hours (the rest); tallies are since ever.

    `unasked_*` are messages nobody asked for, by the ceiling they count under; `unasked_most` is
    how many of them in a week whoever got most got, of one kind.
    """

    inbox_waiting: int
    inbox_set_aside: int
    inbox_oldest_at: datetime | None
    rules_open: int
    rules_due: int
    rules_oldest_due_at: datetime | None
    next_due_at: datetime | None
    outbox_waiting: dict[str, int]
    outbox_oldest_at: datetime | None
    outbox_day: dict[str, int]
    unknown_day: int
    unasked_day: dict[str, int]
    unasked_week: dict[str, int]
    unasked_most: int
    days_day: dict[str, int]
    addresses_dead: int
    members: int
    members_stopped: int
    tallies: dict[str, int]
    leases: dict[str, tuple[str, datetime]]
    clock_newest_at: datetime | None
    clock_behind_since: datetime | None


def counts(tx: Connection, now: datetime) -> Counts:
    """Everything an operator counts, at one moment."""
    waiting = text("status = 'waiting'")
    known = timekeeping.look(tx)

    def one(query: Select[Any]) -> int:
        return int(tx.execute(query).scalar_one())

    def unasked(since: datetime) -> Select[Any]:
        return (
            select(outbox.c.ceiling, func.count())
            .where(
                outbox.c.created_at > since,
                outbox.c.ceiling != text("''"),
                outbox.c.status != text("'dropped'"),
            )
            .group_by(outbox.c.ceiling)
        )

    def by(query: Select[Any]) -> dict[str, int]:
        return {str(row[0]): int(row[1]) for row in tx.execute(query)}

    return Counts(
        inbox_waiting=one(select(func.count()).select_from(inbox).where(waiting)),
        inbox_set_aside=one(select(func.count()).select_from(inbox).where(inbox.c.status == "bad")),
        inbox_oldest_at=tx.execute(select(func.min(inbox.c.received_at)).where(waiting)).scalar(),
        rules_open=one(select(func.count()).where(rule.c.due_at.is_not(None))),
        rules_due=one(select(func.count()).where(rule.c.due_at <= now)),
        rules_oldest_due_at=tx.execute(
            select(func.min(rule.c.due_at)).where(rule.c.due_at <= now)
        ).scalar(),
        next_due_at=rules.next_due(tx),
        outbox_waiting=by(
            select(outbox.c.channel, func.count()).where(waiting).group_by(outbox.c.channel),
        ),
        outbox_oldest_at=tx.execute(select(func.min(outbox.c.created_at)).where(waiting)).scalar(),
        outbox_day=by(
            select(outbox.c.status, func.count())
            .where(outbox.c.created_at > now - DAY)
            .group_by(outbox.c.status),
        ),
        unknown_day=one(select(func.count()).where(outbox.c.unknown_at > now - DAY)),
        unasked_day=by(unasked(now - DAY)),
        unasked_week=by(unasked(now - 7 * DAY)),
        unasked_most=max(
            tx.execute(
                unasked(now - 7 * DAY).with_only_columns(func.count()).group_by(outbox.c.member_id)
            ).scalars(),
            default=0,
        ),
        days_day=by(
            select(fired.c.became, func.count())
            .where(fired.c.at > now - DAY)
            .group_by(fired.c.became),
        ),
        addresses_dead=one(select(func.count()).where(address.c.dead_at.is_not(None))),
        members=one(select(func.count()).select_from(member)),
        members_stopped=one(select(func.count()).where(member.c.stopped_at.is_not(None))),
        tallies=tallies.all_of(tx),
        leases=leases.held(tx, now),
        clock_newest_at=known.newest_at,
        clock_behind_since=known.behind_since,
    )
