"""What goes out: one row a message, leased by a courier, marked before and after each try."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row, func, insert, or_, select, update

from bot.messages import Outgoing
from bot.records.tables import member, outbox

REPLY, REMINDER, NOTICE = 0, 1, 2


@dataclass(frozen=True, slots=True)
class Letter:
    """A message to be put in the outbox. `kind` is reply, reminder, notice or last.

    `about` names what it speaks of: the kinds of reminder and the subjects.
    """

    key: str
    channel: str
    address: str
    member_id: str
    text: str
    kind: str
    priority: int
    exchange_id: int | None = None
    about: tuple[str, ...] = ()
    buttons: tuple[str, ...] = ()
    picture: bytes = b""
    silent: bool = False
    valid_until: datetime | None = None
    not_before_at: datetime | None = None


def put(tx: Connection, letter: Letter, now: datetime) -> int | None:
    """The row's number; None when a letter of this key is there already."""
    if tx.execute(select(outbox.c.id).where(outbox.c.key == letter.key)).first():
        return None
    return int(
        tx.execute(
            insert(outbox)
            .values(
                key=letter.key,
                channel=letter.channel,
                address=letter.address,
                member_id=letter.member_id,
                exchange_id=letter.exchange_id,
                kind=letter.kind,
                about=list(letter.about),
                priority=letter.priority,
                text=letter.text,
                buttons=list(letter.buttons),
                picture=letter.picture or None,
                silent=letter.silent,
                created_at=now,
                not_before_at=letter.not_before_at or now,
                valid_until=letter.valid_until,
                status="waiting",
            )
            .returning(outbox.c.id)
        ).scalar_one()
    )


def claim(
    tx: Connection, channel: str, token: str, now: datetime, lease: timedelta, limit: int
) -> list[Row[Any]]:
    """Rows that may go now, marked as being sent until the lease ends; most urgent first.

    Words whose time has passed, and words to members who stopped, are dropped here.
    """
    tx.execute(
        update(outbox)
        .where(
            outbox.c.channel == channel,
            outbox.c.status == "waiting",
            outbox.c.valid_until.is_not(None),
            outbox.c.valid_until <= now,
        )
        .values(status="dropped", cause="too late")
    )
    stopped = select(member.c.id).where(member.c.stopped_at.is_not(None))
    tx.execute(
        update(outbox)
        .where(
            outbox.c.channel == channel,
            outbox.c.status == "waiting",
            outbox.c.not_before_at <= now,
            outbox.c.kind != "last",
            outbox.c.member_id.in_(stopped),
        )
        .values(status="dropped", cause="stopped")
    )
    ready = (
        select(outbox.c.id)
        .where(
            outbox.c.channel == channel,
            outbox.c.status == "waiting",
            outbox.c.not_before_at <= now,
        )
        .order_by(outbox.c.priority, outbox.c.not_before_at, outbox.c.id)
        .limit(limit)
        .with_for_update(skip_locked=True)
    )
    ids = list(tx.execute(ready).scalars())
    if not ids:
        return []
    tx.execute(
        update(outbox)
        .where(outbox.c.id.in_(ids))
        .values(
            status="sending",
            token=token,
            leased_until=now + lease,
            attempts=outbox.c.attempts + 1,
        )
    )
    rows = tx.execute(select(outbox).where(outbox.c.id.in_(ids))).all()
    order = {outbox_id: place for place, outbox_id in enumerate(ids)}
    return sorted(rows, key=lambda row: order[row.id])


def orphaned(tx: Connection, channel: str, now: datetime) -> list[Row[Any]]:
    """Rows whose courier was lost: nobody knows whether they arrived."""
    return list(
        tx.execute(
            select(outbox)
            .where(
                outbox.c.channel == channel,
                outbox.c.status == "sending",
                outbox.c.leased_until <= now,
            )
            .order_by(outbox.c.id)
            .with_for_update(skip_locked=True)
        )
    )


def mark(tx: Connection, outbox_id: int, token: str | None, **changed: object) -> bool:
    """Write what became of a row, where the token still holds; False: somebody else has it."""
    query = update(outbox).where(outbox.c.id == outbox_id, outbox.c.status == "sending")
    if token is not None:
        query = query.where(outbox.c.token == token)
    return bool(tx.execute(query.values(**changed)).rowcount)


def next_at(tx: Connection) -> datetime | None:
    """When the courier has something to look at next."""
    moments = [
        tx.execute(
            select(func.min(outbox.c.not_before_at)).where(outbox.c.status == "waiting")
        ).scalar(),
        tx.execute(
            select(func.min(outbox.c.leased_until)).where(outbox.c.status == "sending")
        ).scalar(),
    ]
    return min((each for each in moments if each is not None), default=None)


def outgoing_of(row: Row[Any]) -> Outgoing:
    """The message of a row."""
    return Outgoing(
        key=row.key,
        address=row.address,
        text=row.text,
        buttons=tuple(row.buttons),
        picture=row.picture or b"",
        silent=row.silent,
        valid_until=row.valid_until,
        kind=row.kind,
    )


def knows(tx: Connection, channel: str, key: str) -> bool:
    """Whether a message of this key was surely sent on this channel."""
    return (
        tx.execute(
            select(outbox.c.id).where(
                outbox.c.channel == channel, outbox.c.key == key, outbox.c.status == "sent"
            )
        ).first()
        is not None
    )


def receipt(tx: Connection, channel: str, outside_id: str, delivered: bool, cause: str) -> None:
    """A later word from the network on a message that was sent."""
    tx.execute(
        update(outbox)
        .where(
            outbox.c.channel == channel,
            or_(outbox.c.outside_id == outside_id, outbox.c.key == outside_id),
        )
        .values(delivered=delivered, cause=cause)
    )


def unasked(
    tx: Connection, member_id: str, since: datetime, until: datetime, kinds: Sequence[str]
) -> int:
    """How many unasked messages were written for a member in `(since, until]`."""
    return int(
        tx.execute(
            select(func.count()).where(
                outbox.c.member_id == member_id,
                outbox.c.created_at > since,
                outbox.c.created_at <= until,
                outbox.c.kind.in_(kinds),
                outbox.c.status != "dropped",
            )
        ).scalar_one()
    )
