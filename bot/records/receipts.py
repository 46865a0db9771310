"""What the network says later of a message: it arrived, or it did not."""

from __future__ import annotations

from sqlalchemy import Connection, select, update

from bot.records.tables import outbox


def receive(tx: Connection, channel: str, outside_id: str, delivered: bool, cause: str) -> None:
    """A later word from the network on a message that was sent.

    What has arrived is not sent again, though its sender had no answer.
    """
    ours = (outbox.c.channel == channel) & (
        (outbox.c.outside_id == outside_id) | (outbox.c.key == outside_id)
    )
    tx.execute(update(outbox).where(ours).values(delivered=delivered))
    # The cause of what is still to go says why it waits.
    ended = outbox.c.status.not_in(["waiting", "sending"])
    tx.execute(update(outbox).where(ours, ended).values(cause=cause))
    if delivered:
        doubtful = outbox.c.unknown_at.is_not(None) & outbox.c.status.in_(["waiting", "unknown"])
        tx.execute(
            update(outbox)
            .where(ours, doubtful)
            .values(status="sent", sent_at=outbox.c.unknown_at, cause="")
        )


def is_delivered(tx: Connection, outbox_id: int) -> bool:
    """Whether the network said that it arrived."""
    return bool(tx.execute(select(outbox.c.delivered).where(outbox.c.id == outbox_id)).scalar())
