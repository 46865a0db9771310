"""What is personal of somebody who asks to be forgotten is taken away."""

from __future__ import annotations

from sqlalchemy import Connection, delete, select, update

from bot.records.tables import address as addresses
from bot.records.tables import inbox, member, membership, outbox


def forget(tx: Connection, member_id: str) -> None:
    """Take away what is personal: addresses, name, settings, raw messages and words sent.

    What was done in the group stays, under an identity nobody can trace.
    """
    tx.execute(
        update(inbox).where(inbox.c.member_id == member_id).values(body={}, address="", cause="")
    )
    tx.execute(
        update(outbox)
        .where(outbox.c.member_id == member_id, outbox.c.kind != "last")
        .values(text="", address="", picture=None)
    )
    tx.execute(
        update(outbox)
        .where(
            outbox.c.member_id == member_id,
            outbox.c.kind != "last",
            # What is on the line too: whatever becomes of it, nothing of it is written back.
            outbox.c.status.in_(["waiting", "sending"]),
        )
        .values(status="dropped", cause="forgotten")
    )
    tx.execute(delete(addresses).where(addresses.c.member_id == member_id))
    _leave_groups(tx, member_id)
    tx.execute(
        update(member)
        .where(member.c.id == member_id)
        .values(name="", settings={}, country="", zone="UTC", language="")
    )


def _leave_groups(tx: Connection, member_id: str) -> None:
    """Nobody is asked to stir who cannot be reached; a group keeps a keeper: the oldest member."""
    mine = select(membership.c.group_id).where(membership.c.member_id == member_id)
    for group_id in tx.execute(mine).scalars().all():
        tx.execute(
            delete(membership).where(
                membership.c.group_id == group_id, membership.c.member_id == member_id
            )
        )
        left = tx.execute(
            select(membership.c.member_id, membership.c.role)
            .where(membership.c.group_id == group_id)
            .order_by(membership.c.joined_at, membership.c.member_id)
        ).all()
        able = [row.member_id for row in left if row.role == "member"]
        if able and all(row.role != "keeper" for row in left):
            tx.execute(
                update(membership)
                .where(membership.c.group_id == group_id, membership.c.member_id == able[0])
                .values(role="keeper")
            )
