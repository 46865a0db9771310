"""What waits for an address at which nobody is any more goes where its member can be reached."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, select, text, update

from bot.records import addresses
from bot.records.people import Address
from bot.records.reaching import reach
from bot.records.tables import outbox
from bot.records.taking_back import rearm


def lost(tx: Connection, channel: str, address: str, now: datetime) -> None:
    """Nothing arrives at this address: each member's words that wait go to their other one.

    Words are never sent on to somebody else's phone: they were not written for those eyes.
    """
    addresses.died(tx, channel, address, now)
    waits = (
        (outbox.c.channel == channel)
        & (outbox.c.address == address)
        & (outbox.c.status == text("'waiting'"))
        & (outbox.c.kind != "last")
    )
    for row in tx.execute(select(outbox.c.id, outbox.c.member_id).where(waits)).all():
        there = _own(tx, row.member_id)
        change = update(outbox).where(outbox.c.id == row.id)
        if there is not None:
            tx.execute(change.values(channel=there.channel, address=there.address))
        else:
            tx.execute(change.values(status="dropped", cause="nobody can be reached there"))
            # Somebody whose words this phone carried may be reached at another's.
            rearm(tx, row.id, now)


def send_over(tx: Connection, outbox_id: int, member_id: str, now: datetime) -> None:
    """A message refused at a dead address waits for the member's other one, if there is one."""
    there = _own(tx, member_id)
    if there is None:
        rearm(tx, outbox_id, now)
    else:
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


def _own(tx: Connection, member_id: str) -> Address | None:
    there = reach(tx, member_id)
    return there if there is not None and there.member_id == member_id else None
