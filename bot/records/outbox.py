"""What goes out: one row a message, leased by a courier, marked before and after each try."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row, Select, bindparam, case, func, select, text, update
from sqlalchemy.dialects import postgresql, sqlite

from bot.messages import Outgoing
from bot.records.tables import outbox

REPLY, REMINDER, NOTICE = 0, 1, 2
OVERTAKEN = "overtaken"
"""What it speaks of was told or changed before it went."""


@dataclass(frozen=True, slots=True)
class Letter:
    """A message to be put in the outbox. `kind` is reply, reminder, notice or last.

    `about` names what it speaks of: the kinds of reminder and the subjects. `ceiling` is under
    which ceiling of unasked messages it counts: routine, alert, or none. `repeat` is how it goes
    a second time where the first may have arrived: "said" says that it is the same again.
    """

    key: str
    channel: str
    address: str
    member_id: str
    text: str
    kind: str
    priority: int
    ceiling: str = ""
    repeat: str = ""
    exchange_id: int | None = None
    about: tuple[str, ...] = ()
    buttons: tuple[str, ...] = ()
    picture: bytes = b""
    silent: bool = False
    valid_until: datetime | None = None
    not_before_at: datetime | None = None


def put(tx: Connection, letters: Sequence[Letter], now: datetime) -> dict[str, int]:
    """The number of each letter's row by its key; a letter whose key is there already has none."""
    rows = [_row(letter, now) for letter in letters]
    if not rows:
        return {}
    # One row as values, not as a list of one: that path is half as long.
    found = tx.execute(_PUT[tx.dialect.name], rows if len(rows) > 1 else rows[0])
    return {row.key: row.id for row in found}


def _row(letter: Letter, now: datetime) -> dict[str, Any]:
    return {
        "key": letter.key,
        "channel": letter.channel,
        "address": letter.address,
        "member_id": letter.member_id,
        "exchange_id": letter.exchange_id,
        "kind": letter.kind,
        "ceiling": letter.ceiling,
        "repeat": letter.repeat,
        "about": list(letter.about),
        "priority": letter.priority,
        "text": letter.text,
        "buttons": list(letter.buttons),
        "picture": letter.picture or None,
        "silent": letter.silent,
        "created_at": now,
        "not_before_at": letter.not_before_at or now,
        "valid_until": letter.valid_until,
        "status": "waiting",
    }


_PUT = {
    dialect.name: new(outbox)
    .on_conflict_do_nothing(index_elements=["key"])
    .returning(outbox.c.id, outbox.c.key)
    for dialect, new in ((sqlite.dialect, sqlite.insert), (postgresql.dialect, postgresql.insert))
}


def _ready(priority: int) -> Select[Any]:
    # One priority at a time: the index then ends at `now`, whatever waits for later.
    return (
        select(outbox.c.id)
        .where(
            outbox.c.channel == bindparam("of_channel"),
            outbox.c.status == text("'waiting'"),
            outbox.c.priority == priority,
            outbox.c.not_before_at <= bindparam("at"),
            outbox.c.address.not_in(bindparam("busy", expanding=True)),
        )
        .order_by(outbox.c.not_before_at, outbox.c.id)
        .limit(bindparam("most"))
        .with_for_update(skip_locked=True)
    )


_READY = tuple(_ready(priority) for priority in (REPLY, REMINDER, NOTICE))


_CARRIED = [
    each
    for each in outbox.c
    if each.name not in {"about", "ceiling", "created_at", "delivered", "outside_id", "sent_at"}
]
"""What a courier goes by: reading the other columns of ten thousand rows takes its time."""

_CLAIM = (
    update(outbox)
    .where(outbox.c.id.in_(bindparam("these", expanding=True)))
    .values(
        status="sending",
        token=bindparam("of_token"),
        leased_until=bindparam("until"),
        attempts=outbox.c.attempts + 1,
    )
    .returning(*_CARRIED)
)
_SENT = (
    update(outbox)
    .where(
        outbox.c.id == bindparam("of_id"),
        outbox.c.status == "sending",
        outbox.c.token == bindparam("of_token"),
    )
    .values(status="sent", sent_at=bindparam("at"), outside_id=bindparam("outside"), cause="")
)


def claim(
    tx: Connection,
    channel: str,
    token: str,
    now: datetime,
    lease: timedelta,
    limit: int,
    busy: Collection[str] = (),
) -> list[Row[Any]]:
    """Rows that may go now, marked as being sent until the lease ends; most urgent first.

    Those for `busy` addresses wait.
    """
    ids: list[int] = []
    for ready in _READY:
        if len(ids) < limit:
            most = {"of_channel": channel, "at": now, "most": limit - len(ids), "busy": list(busy)}
            ids += tx.execute(ready, most).scalars()
    if not ids:
        return []
    until = {"these": ids, "of_token": token, "until": now + lease}
    rows = tx.execute(_CLAIM, until).all()
    order = {outbox_id: place for place, outbox_id in enumerate(ids)}
    return sorted(rows, key=lambda row: order[row.id])


_ORPHANED = (
    select(*_CARRIED)
    .where(
        outbox.c.channel == bindparam("of_channel"),
        outbox.c.status == text("'sending'"),
        outbox.c.leased_until <= bindparam("at"),
    )
    .order_by(outbox.c.id)
    .limit(200)
    .with_for_update(skip_locked=True)
)


def orphaned(tx: Connection, channel: str, now: datetime) -> list[Row[Any]]:
    """Rows whose courier was lost: nobody knows whether they arrived."""
    return list(tx.execute(_ORPHANED, {"of_channel": channel, "at": now}))


def mark(tx: Connection, outbox_id: int, token: str | None, **changed: object) -> bool:
    """Write what became of a row, where the token still holds; False: somebody else has it."""
    query = update(outbox).where(outbox.c.id == outbox_id, outbox.c.status == "sending")
    if token is not None:
        query = query.where(outbox.c.token == token)
    return bool(tx.execute(query.values(**changed)).rowcount)


def sent(
    tx: Connection, went: Sequence[tuple[int, str | None]], token: str, at: datetime
) -> list[int]:
    """These rows surely went, each with what the channel calls it.

    Returns those that another courier had taken for lost and sent again. One that was taken for
    lost and only waits for its repeat is sent after all.
    """
    if not went:
        return []
    each = [
        {"of_id": outbox_id, "of_token": token, "at": at, "outside": outside_id}
        for outbox_id, outside_id in went
    ]
    if tx.execute(_SENT, each).rowcount == len(went):
        return []
    ids = [outbox_id for outbox_id, _ in went]
    ours = outbox.c.id.in_(ids) & (outbox.c.status == "sent") & (outbox.c.token == token)
    marked = set(tx.execute(select(outbox.c.id).where(ours)).scalars())
    return [
        outbox_id
        for outbox_id, outside_id in went
        if outbox_id not in marked and not _sent_late(tx, outbox_id, at, outside_id)
    ]


def _sent_late(tx: Connection, outbox_id: int, at: datetime, outside_id: str | None) -> bool:
    # "unknown" is the end of a second try: whichever of the two this was, both may have arrived.
    repeated = case((outbox.c.status == "unknown", outbox.c.unknown_at), else_=None)
    late = (
        update(outbox)
        .where(
            outbox.c.id == outbox_id,
            outbox.c.status.in_(["waiting", "unknown"]),
            outbox.c.unknown_at.is_not(None),
        )
        .values(status="sent", sent_at=at, outside_id=outside_id, cause="", unknown_at=repeated)
    )
    return bool(tx.execute(late).rowcount)


def next_at(tx: Connection, channels: Sequence[str]) -> datetime | None:
    """When a courier of these channels has something to look at next."""
    moments = []
    for channel in channels:
        here = outbox.c.channel == channel
        moments += [
            tx.execute(
                select(func.min(outbox.c.not_before_at)).where(
                    here, outbox.c.status == text("'waiting'"), outbox.c.priority == priority
                )
            ).scalar()
            for priority in (REPLY, REMINDER, NOTICE)
        ]
        moments.append(
            tx.execute(
                select(func.min(outbox.c.leased_until)).where(
                    here, outbox.c.status == text("'sending'")
                )
            ).scalar()
        )
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


def is_overtaken(tx: Connection, outbox_id: int) -> bool:
    """Whether what it speaks of was told or changed meanwhile."""
    cause = tx.execute(select(outbox.c.cause).where(outbox.c.id == outbox_id)).scalar()
    return bool(cause == OVERTAKEN)
