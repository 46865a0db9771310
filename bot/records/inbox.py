"""What came in: kept before it is acknowledged, handled once, in order for each address."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, bindparam, insert, select, text, update
from sqlalchemy.exc import IntegrityError

from bot.messages import Incoming
from bot.records.store import Store
from bot.records.tables import inbox

LONGEST_TEXT = 10_000
MENDABLE = frozenset({"part_missing", "shift_table", "binary"})


_KEEP = insert(inbox)


def keep(store: Store, incoming: Incoming, now: datetime) -> bool:
    """Commit the message under its (channel, outside id); False: it was there already."""
    body = asdict(incoming)
    # PostgreSQL keeps no NUL in a text; nobody means one.
    body["text"] = incoming.text[:LONGEST_TEXT].replace("\0", "")
    body["name"] = incoming.name.replace("\0", "")
    body["sent_at"] = incoming.sent_at.isoformat()
    try:
        with store.begin() as tx:
            tx.execute(
                _KEEP,
                {
                    "channel": incoming.channel,
                    "outside_id": incoming.outside_id,
                    "address": incoming.address,
                    "body": body,
                    "sent_at": incoming.sent_at,
                    "received_at": now,
                    "status": "bad" if incoming.fault and not mendable(incoming) else "waiting",
                    "cause": incoming.fault,
                },
            )
    except IntegrityError:
        return False
    return True


def mendable(incoming: Incoming) -> bool:
    """Whether the sender can mend the fault, and so is asked to."""
    return incoming.fault in MENDABLE and bool(incoming.address)


_OLDER = inbox.alias()
_FIRST = (
    select(inbox)
    .where(
        inbox.c.status == text("'waiting'"),
        ~select(_OLDER.c.id)
        .where(
            _OLDER.c.status == text("'waiting'"),
            _OLDER.c.channel == inbox.c.channel,
            _OLDER.c.address == inbox.c.address,
            _OLDER.c.id < inbox.c.id,
        )
        .exists(),
    )
    .order_by(inbox.c.id)
    .limit(1)
)
_FIRST_FREE = _FIRST.with_for_update(skip_locked=True, of=inbox)
_FINISH = (
    update(inbox)
    .where(inbox.c.id == bindparam("of_id"))
    .values(status=bindparam("became"), member_id=bindparam("of_member"))
)


def first_waiting(tx: Connection, is_sqlite: bool) -> Row[Any] | None:
    """The oldest message whose sender has no older one waiting; locked against other workers."""
    return tx.execute(_FIRST if is_sqlite else _FIRST_FREE).first()


def incoming_of(row: Row[Any]) -> Incoming:
    """The message of a row."""
    body = dict(row.body)
    body["sent_at"] = datetime.fromisoformat(body["sent_at"])
    body["place"] = tuple(body["place"]) if body["place"] else None
    return Incoming(**body)


def finish(tx: Connection, inbox_id: int, member_id: str, status: str = "done") -> None:
    """The message was handled; part of the exchange's own transaction."""
    tx.execute(_FINISH, {"of_id": inbox_id, "became": status, "of_member": member_id})


def turn_away(tx: Connection, inbox_id: int, cause: str) -> None:
    """The message is set aside unread, with its cause."""
    tx.execute(update(inbox).where(inbox.c.id == inbox_id).values(status="bad", cause=cause))


def set_aside(tx: Connection, inbox_id: int, cause: str, most: int) -> bool:
    """Count a failed try; after `most` the message is set aside with its cause. True: it is.

    Where another worker handled it meanwhile, it stays as it is.
    """
    here = (inbox.c.id == inbox_id) & (inbox.c.status == "waiting")
    attempts = tx.execute(select(inbox.c.attempts).where(here).with_for_update()).scalar()
    if attempts is None:
        return False
    bad = attempts + 1 >= most
    tx.execute(
        update(inbox)
        .where(here)
        .values(attempts=attempts + 1, status="bad" if bad else "waiting", cause=cause)
    )
    return bool(bad)
