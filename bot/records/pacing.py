"""How fast a channel may be used, written as instants in rows, so that a restart remembers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row, bindparam, case, delete, literal, select, update

from bot.messages import Pace
from bot.records.tables import address as addresses
from bot.records.tables import outbox, pace
from bot.records.upserting import upsert

WHOLE = ""
"""Stands for every address of a channel: blocked until."""
USED = "*"
"""Stands for the channel's own pace: the moment up to which it is used up."""
DOUBT = "?"
"""Stands for the moment since which the channel answered nothing, though it was tried."""
AGAIN = "?again"
"""Stands for the moment before which nothing goes a second time over a channel in doubt."""
DOUBT_LAPSES = timedelta(minutes=10)
"""A channel that was not tried for so long is no more in doubt than any other. Ours, no source."""
BURST = timedelta(seconds=1)
LONGEST_BLOCK = timedelta(hours=6)
"""A longer one was written by a clock that has been set back since. Ours, no source."""

_KEPT = (
    select(pace.c.address, pace.c.free_at)
    .where(pace.c.channel == bindparam("channel"), pace.c.address.in_([WHOLE, USED, DOUBT, AGAIN]))
    .with_for_update()
)


def block(tx: Connection, channel: str, address: str, free_at: datetime) -> None:
    """Nothing goes to this address before `free_at`; an empty address is the whole channel."""
    upsert(tx, pace, {"channel": channel, "address": address}, {"free_at": free_at})


def hold(tx: Connection, channel: str, address: str, free_at: datetime) -> None:
    """The network asked for a wait: a shorter one, heard beside it, takes nothing from a longer."""
    longer = pace.c.free_at.between(free_at, free_at + LONGEST_BLOCK)
    kept = case((longer, pace.c.free_at), else_=literal(free_at, pace.c.free_at.type))
    key = {"channel": channel, "address": address}
    upsert(tx, pace, key, {"free_at": free_at}, {"free_at": kept})


@dataclass(frozen=True, slots=True)
class Allowance:
    """How many messages may go over a channel now.

    `doubted_since`: it answered nothing since then; `again_at`: nothing goes a second time
    before.
    """

    most: int
    doubted_since: datetime | None = None
    again_at: datetime | None = None


def allowance(tx: Connection, channel: str, limit: Pace, now: datetime, most: int) -> Allowance:
    """What may go over the channel now; holds the channel's row until committed."""
    kept = {row.address: row.free_at for row in tx.execute(_KEPT, {"channel": channel})}
    doubt = _doubt(kept, now)
    blocked = kept.get(WHOLE, now)
    if now < blocked <= now + LONGEST_BLOCK:
        return Allowance(0, *doubt)
    if not limit.per_second:
        return Allowance(most, *doubt)
    left = BURST - (_used(kept.get(USED, now), now) - now)
    return Allowance(max(0, min(most, int(left.total_seconds() * limit.per_second + 1e-6))), *doubt)


def _doubt(kept: Mapping[str, datetime], now: datetime) -> tuple[datetime | None, datetime | None]:
    since, again_at = kept.get(DOUBT), kept.get(AGAIN)
    if since is None or again_at is None or abs(now - again_at) > DOUBT_LAPSES:
        return None, None
    return since, again_at


def doubt(tx: Connection, channel: str, since: datetime, again_at: datetime) -> None:
    """It was tried, and the channel answered nothing."""
    block(tx, channel, DOUBT, since)
    block(tx, channel, AGAIN, again_at)


def trust(tx: Connection, channel: str) -> None:
    """The channel answered."""
    tx.execute(delete(pace).where(pace.c.channel == channel, pace.c.address.in_([DOUBT, AGAIN])))


def spend(tx: Connection, channel: str, limit: Pace, now: datetime, n: int) -> None:
    """The channel was used `n` times."""
    if limit.per_second and n:
        kept = {row.address: row.free_at for row in tx.execute(_KEPT, {"channel": channel})}
        used = _used(kept.get(USED, now), now) + timedelta(seconds=n / limit.per_second)
        block(tx, channel, USED, used)


def _used(moment: datetime, now: datetime) -> datetime:
    return now if not now < moment <= now + LONGEST_BLOCK else moment


def spread(tx: Connection, rows: Sequence[Row[Any]], limit: Pace, now: datetime) -> list[Row[Any]]:
    """The claimed rows that may go now; the others wait, one after the other, for their address."""
    if not rows:
        return []
    channel = rows[0].channel
    there = {row.address for row in rows}
    free = {
        row.address: row.free_at
        for row in tx.execute(
            select(pace.c.address, pace.c.free_at).where(
                pace.c.channel == channel, pace.c.address.in_(there), pace.c.free_at > now
            )
        )
        if row.free_at <= now + LONGEST_BLOCK
    }
    boards: set[str] = set()
    if limit.per_board_per_minute:
        boards = set(
            tx.execute(
                select(addresses.c.address).where(
                    addresses.c.channel == channel,
                    addresses.c.address.in_(there),
                    addresses.c.noticeboard,
                )
            ).scalars()
        )
    going: list[Row[Any]] = []
    for row in rows:
        gap = _gap(limit, board=row.address in boards)
        until = free.get(row.address, now)
        if until > now:
            _wait(tx, row, until)
            free[row.address] = until + max(gap, timedelta(seconds=1))
        else:
            going.append(row)
            if gap:
                free[row.address] = now + gap
                block(tx, channel, row.address, free[row.address])
    return going


def _gap(limit: Pace, *, board: bool) -> timedelta:
    if board:
        return timedelta(minutes=1 / limit.per_board_per_minute)
    return (
        timedelta(seconds=1 / limit.per_address_per_s) if limit.per_address_per_s else timedelta()
    )


def _wait(tx: Connection, row: Row[Any], until: datetime) -> None:
    tx.execute(
        update(outbox)
        .where(outbox.c.id == row.id)
        .values(status="waiting", not_before_at=until, attempts=row.attempts - 1)
    )


def admit(
    tx: Connection, channel: str, name: str, gap: timedelta, window: timedelta, now: datetime
) -> bool:
    """Whether one more may come in, where one a `gap` may, and a whole `window` of them at once."""
    query = select(pace.c.free_at).where(pace.c.channel == channel, pace.c.address == name)
    kept = tx.execute(query.with_for_update()).scalar()
    used = _used(now if kept is None else kept, now) + gap
    if used > now + window:
        return False
    block(tx, channel, name, used)
    return True


def forget(tx: Connection, now: datetime) -> None:
    """Take away what says nothing any more."""
    said = (pace.c.free_at <= now) | (pace.c.free_at > now + LONGEST_BLOCK)
    # A doubt lies in the past by its nature; it lapses by itself.
    tx.execute(delete(pace).where(said, pace.c.address.not_in([DOUBT, AGAIN])))
