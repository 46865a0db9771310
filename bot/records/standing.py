"""One more look at claimed rows and their members, just before they go."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, bindparam, select, text

from bot.records.outbox import OVERTAKEN, REPLY
from bot.records.tables import inbox, member, outbox

UNHEARD = timedelta(minutes=10)
"""A message that could not be handled for so long holds nothing back any more. Ours, no source."""


@dataclass(frozen=True, slots=True)
class Standing:
    """What is known of a claimed row and its member just before it is sent."""

    mine: bool
    overtaken: bool
    known: bool
    stopped: bool
    unheard: bool
    zone: str
    settings: Mapping[str, Any]


_STANDING = (
    select(
        select(inbox.c.id)
        .where(
            inbox.c.channel == outbox.c.channel,
            inbox.c.address == outbox.c.address,
            inbox.c.status == text("'waiting'"),
            inbox.c.received_at > bindparam("since"),
        )
        .exists()
        .label("unheard"),
        outbox.c.id.label("outbox_id"),
        outbox.c.status,
        outbox.c.token,
        outbox.c.cause,
        member.c.id,
        member.c.stopped_at,
        member.c.zone,
        member.c.settings,
    )
    .outerjoin_from(outbox, member, member.c.id == outbox.c.member_id)
    .where(outbox.c.id.in_(bindparam("these", expanding=True)))
)


def standings(
    tx: Connection, outbox_ids: Sequence[int], token: str, now: datetime
) -> dict[int, Standing]:
    """One more look before rows go. `unheard`: words of theirs wait to be handled first."""
    rows = tx.execute(_STANDING, {"these": list(outbox_ids), "since": now - UNHEARD})
    return {
        row.outbox_id: Standing(
            mine=row.status == "sending" and row.token == token,
            overtaken=row.cause == OVERTAKEN,
            known=row.id is not None,
            stopped=row.stopped_at is not None,
            unheard=bool(row.unheard),
            zone=row.zone or "UTC",
            settings=row.settings or {},
        )
        for row in rows
    }


_REPLY_READY = (
    select(outbox.c.id)
    .where(
        outbox.c.channel == bindparam("of_channel"),
        outbox.c.status == text("'waiting'"),
        outbox.c.priority == REPLY,
        outbox.c.not_before_at <= bindparam("at"),
    )
    .limit(1)
)


def reply_waits(tx: Connection, channel: str, now: datetime) -> bool:
    """Whether an answer may go now: reminders that were claimed and not begun let it pass.

    A statement of its own: within the other one PostgreSQL reads all that waits for later.
    """
    return tx.execute(_REPLY_READY, {"of_channel": channel, "at": now}).first() is not None
