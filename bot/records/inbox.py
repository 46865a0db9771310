"""What came in: kept before it is acknowledged, handled once, in order for each address."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, insert, select, update
from sqlalchemy.exc import IntegrityError

from bot.messages import Incoming
from bot.records.store import Store
from bot.records.tables import inbox

LONGEST_TEXT = 10_000


def keep(store: Store, incoming: Incoming, now: datetime) -> bool:
    """Commit the message under its (channel, outside id); False: it was there already."""
    body = asdict(incoming)
    body["text"] = incoming.text[:LONGEST_TEXT]
    body["sent_at"] = incoming.sent_at.isoformat()
    try:
        with store.begin() as tx:
            tx.execute(
                insert(inbox).values(
                    channel=incoming.channel,
                    outside_id=incoming.outside_id,
                    address=incoming.address,
                    body=body,
                    sent_at=incoming.sent_at,
                    received_at=now,
                    status="waiting",
                )
            )
    except IntegrityError:
        return False
    return True


def first_waiting(tx: Connection, is_sqlite: bool) -> Row[Any] | None:
    """The oldest message whose sender has no older one waiting; locked against other workers."""
    older = inbox.alias()
    query = (
        select(inbox)
        .where(
            inbox.c.status == "waiting",
            ~select(older.c.id)
            .where(
                older.c.status == "waiting",
                older.c.channel == inbox.c.channel,
                older.c.address == inbox.c.address,
                older.c.id < inbox.c.id,
            )
            .exists(),
        )
        .order_by(inbox.c.id)
        .limit(1)
    )
    if not is_sqlite:
        query = query.with_for_update(skip_locked=True, of=inbox)
    return tx.execute(query).first()


def incoming_of(row: Row[Any]) -> Incoming:
    """The message of a row."""
    body = dict(row.body)
    body["sent_at"] = datetime.fromisoformat(body["sent_at"])
    body["place"] = tuple(body["place"]) if body["place"] else None
    return Incoming(**body)


def finish(tx: Connection, inbox_id: int, member_id: str) -> None:
    """The message was handled; part of the exchange's own transaction."""
    tx.execute(
        update(inbox).where(inbox.c.id == inbox_id).values(status="done", member_id=member_id)
    )


def set_aside(tx: Connection, inbox_id: int, cause: str, most: int) -> bool:
    """Count a failed try; after `most` the message is set aside with its cause. True: it is."""
    row = tx.execute(select(inbox.c.attempts).where(inbox.c.id == inbox_id)).one()
    bad = row.attempts + 1 >= most
    tx.execute(
        update(inbox)
        .where(inbox.c.id == inbox_id)
        .values(attempts=row.attempts + 1, status="bad" if bad else "waiting", cause=cause)
    )
    return bool(bad)
