"""What was written for a member lately, and what it answered."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, bindparam, select, text

from bot.records.tables import inbox, outbox


@dataclass(frozen=True, slots=True)
class Gone:
    """A message written for a member: when, when it went (or will), and what it answered."""

    created_at: datetime
    went_at: datetime
    exchange_id: int | None


_LATELY = (
    select(outbox.c.created_at, outbox.c.sent_at, outbox.c.exchange_id)
    .where(
        outbox.c.member_id == bindparam("of_member"),
        outbox.c.created_at > bindparam("since"),
        outbox.c.status != text("'dropped'"),
    )
    .order_by(outbox.c.created_at.desc(), outbox.c.id.desc())
    .limit(bindparam("most"))
)


def lately(tx: Connection, member_id: str, since: datetime, most: int) -> list[Gone]:
    """What was written for a member after `since`, the newest `most`, the oldest first."""
    rows = tx.execute(_LATELY, {"of_member": member_id, "since": since, "most": most}).all()
    return [Gone(row[0], row[1] or row[0], row[2]) for row in reversed(rows)]


def answered(tx: Connection, exchange_ids: Sequence[int]) -> list[tuple[str, datetime]]:
    """The words of messages that were answered, and when each came, in their order."""
    found = tx.execute(
        select(inbox.c.body, inbox.c.received_at)
        .where(inbox.c.id.in_(exchange_ids))
        .order_by(inbox.c.id)
    )
    return [(str(row.body.get("text", "")), row.received_at) for row in found]
