"""What waits for an address at which nobody is any more goes where its member can be reached."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ColumnElement, Connection, select, update

from bot.records import addresses
from bot.records.people import Address
from bot.records.reaching import reach
from bot.records.tables import outbox


def lost(tx: Connection, channel: str, address: str, now: datetime) -> None:
    """Nothing arrives at this address: each member's words that wait go to their other one.

    Words are never sent on to somebody else's phone: they were not written for those eyes.
    """
    addresses.died(tx, channel, address, now)
    waits = (
        (outbox.c.channel == channel)
        & (outbox.c.address == address)
        & (outbox.c.status == "waiting")
        & (outbox.c.kind != "last")
    )
    for member_id in tx.execute(select(outbox.c.member_id).where(waits).distinct()).scalars():
        _readdress(tx, waits & (outbox.c.member_id == member_id), member_id)


def send_over(tx: Connection, outbox_id: int, member_id: str, now: datetime) -> None:
    """A message refused at a dead address waits for the member's other one, if there is one."""
    there = _own(tx, member_id)
    if there is not None:
        tx.execute(
            update(outbox)
            .where(outbox.c.id == outbox_id, outbox.c.status == "refused")
            .values(
                status="waiting",
                channel=there.channel,
                address=there.address,
                not_before_at=now,
                attempts=0,
            )
        )


def _readdress(tx: Connection, which: ColumnElement[bool], member_id: str) -> None:
    there = _own(tx, member_id)
    change = update(outbox).where(which)
    if there is None:
        tx.execute(change.values(status="dropped", cause="nobody can be reached there"))
    else:
        tx.execute(change.values(channel=there.channel, address=there.address))


def _own(tx: Connection, member_id: str) -> Address | None:
    there = reach(tx, member_id)
    return there if there is not None and there.member_id == member_id else None
