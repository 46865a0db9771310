"""What is taken away when it has served: raw messages, sent words, days long past.

Nothing that the record is folded from is ever taken away.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import suppress
from datetime import datetime, timedelta

import sqlalchemy
from sqlalchemy import delete, func, or_, select, update

from bot.records import pacing, tallies
from bot.records.store import Store
from bot.records.tables import fired, inbox, outbox, question, rest, rule, subject

A_BITE = 500
"""Rows taken away in one transaction, so that nobody waits long for the writer."""


def _going_on() -> bool:
    return False


def tidy(
    store: Store, now: datetime, keep_days: int, ending: Callable[[], bool] = _going_on
) -> dict[str, int]:
    """Take away what is older than `keep_days`, until `ending`; how many rows of each kind it was.

    Keys of raw messages stay twice as long as their words, so that a late repeat is still known.
    """
    bites = store, ending
    old, older = now - timedelta(days=keep_days), now - timedelta(days=2 * keep_days)
    closed = (
        select(rule.c.id)
        .join(subject, subject.c.id == rule.c.subject_id)
        .where(or_(subject.c.closed_at < old, subject.c.void))
    )
    gone = {
        "too_late": _bites(
            bites,
            update(outbox).values(status="dropped", cause="too late"),
            outbox.c.id,
            select(outbox.c.id).where(outbox.c.status == "waiting", outbox.c.valid_until <= now),
        ),
        "inbox": _bites(
            bites,
            delete(inbox),
            inbox.c.id,
            select(inbox.c.id).where(inbox.c.received_at < older, inbox.c.status != "waiting"),
        ),
        "inbox_words": _bites(
            bites,
            update(inbox).values(body={}),
            inbox.c.id,
            select(inbox.c.id).where(
                inbox.c.received_at < old,
                inbox.c.status != "waiting",
                func.length(sqlalchemy.cast(inbox.c.body, sqlalchemy.Text)) > len("{}"),
            ),
        ),
        "outbox": _bites(
            bites,
            delete(outbox),
            outbox.c.id,
            select(outbox.c.id).where(
                outbox.c.created_at < old, outbox.c.status.not_in(["waiting", "sending"])
            ),
        ),
        "question": _bites(
            bites,
            delete(question),
            question.c.id,
            select(question.c.id).where(question.c.expires_at < old),
        ),
    }
    gone["fired"] = _bites(
        bites,
        delete(fired).where(fired.c.at < old),
        fired.c.rule_id,
        select(fired.c.rule_id).where(fired.c.at < old, fired.c.rule_id.in_(closed)).distinct(),
    )
    gone["rule"] = _bites(
        bites,
        delete(rule),
        rule.c.id,
        select(rule.c.id).where(
            rule.c.due_at.is_(None),
            rule.c.id.in_(closed),
            rule.c.id.not_in(select(fired.c.rule_id)),
        ),
    )
    with store.begin() as tx:
        tx.execute(delete(rest).where(rest.c.said_at < old))
        pacing.forget(tx, now)
        tallies.add(tx, "too_late", gone["too_late"])
    if store.is_sqlite:
        _compact(store)
    return gone


def _bites(
    of: tuple[Store, Callable[[], bool]],
    change: sqlalchemy.Update | sqlalchemy.Delete,
    number: sqlalchemy.Column[int],
    which: sqlalchemy.Select[tuple[int]],
) -> int:
    store, ending = of
    taken = 0
    while not ending():
        with store.begin() as tx:
            ids = list(tx.execute(which.order_by(number).limit(A_BITE)).scalars())
            if ids:
                taken += tx.execute(change.where(number.in_(ids))).rowcount
        if len(ids) < A_BITE:
            break
    return taken


def _compact(store: Store) -> None:
    """Give the statistics a look and the log file its size back; the file reuses its own pages."""
    with store.engine.connect() as connection:
        raw = connection.connection.dbapi_connection
        assert raw is not None  # noqa: S101 - an open connection has one
        cursor = raw.cursor()
        # Somebody is writing just now: the next hour's housekeeping will do.
        with suppress(sqlite3.OperationalError):
            cursor.execute("PRAGMA optimize")
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        cursor.close()
