"""How fast a channel may be used, written as instants in rows, so that a restart remembers."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row, delete, insert, select, update

from bot.messages import Pace
from bot.records.tables import outbox, pace


def block(tx: Connection, channel: str, address: str, free_at: datetime) -> None:
    """Nothing goes to this address before `free_at`; an empty address is the whole channel."""
    tx.execute(delete(pace).where(pace.c.channel == channel, pace.c.address == address))
    tx.execute(insert(pace).values(channel=channel, address=address, free_at=free_at))


def hold_back(
    tx: Connection, rows: Sequence[Row[Any]], limit: Pace, now: datetime
) -> list[Row[Any]]:
    """The claimed rows that may go now; the others wait again, until their address is free."""
    if not rows:
        return []
    channel = rows[0].channel
    free = {
        row.address: row.free_at
        for row in tx.execute(
            select(pace).where(
                pace.c.channel == channel,
                pace.c.address.in_(["", *{row.address for row in rows}]),
                pace.c.free_at > now,
            )
        )
    }
    most = len(rows) if not limit.per_second else max(1, int(limit.per_second))
    going: list[Row[Any]] = []
    for row in rows:
        until = max(free.get("", now), free.get(row.address, now))
        if until > now:
            _wait(tx, row, until)
        elif len(going) >= most:
            _wait(tx, row, now + timedelta(seconds=1))
        else:
            going.append(row)
            if limit.per_address_per_s:
                free[row.address] = now + timedelta(seconds=1 / limit.per_address_per_s)
                block(tx, channel, row.address, free[row.address])
    return going


def _wait(tx: Connection, row: Row[Any], until: datetime) -> None:
    tx.execute(
        update(outbox)
        .where(outbox.c.id == row.id)
        .values(status="waiting", not_before_at=until, attempts=row.attempts - 1)
    )
