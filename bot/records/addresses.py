"""Addresses that people write from: alive, dead, under a new name."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, bindparam, delete, select, text, update

from bot.records.tables import address as addresses
from bot.records.tables import inbox, outbox

_HEARD = (
    update(addresses)
    .where(
        addresses.c.channel == bindparam("of_channel"),
        addresses.c.address == bindparam("of_address"),
    )
    .values(heard_at=bindparam("at"), dead_at=None)
)
"""Statements of every exchange are built once: building one costs as much as running it."""


def heard(tx: Connection, channel: str, address: str, at: datetime) -> None:
    """The address wrote: it is alive, and the one to answer at."""
    tx.execute(_HEARD, {"of_channel": channel, "of_address": address, "at": at})


def died(tx: Connection, channel: str, address: str, at: datetime) -> None:
    """Nothing reaches this address until it writes again."""
    tx.execute(
        update(addresses)
        .where(addresses.c.channel == channel, addresses.c.address == address)
        .values(dead_at=at)
    )


def moved(tx: Connection, channel: str, address: str, new_address: str) -> None:
    """The network gave the address another name; what waits for it goes there too."""
    here = (addresses.c.channel == channel, addresses.c.address == address)
    there = select(addresses.c.id).where(
        addresses.c.channel == channel, addresses.c.address == new_address
    )
    if tx.execute(there).first():
        # It was heard under its new name already: the old one is a name too many.
        tx.execute(delete(addresses).where(*here))
    else:
        tx.execute(update(addresses).where(*here).values(address=new_address))
    for table in (outbox, inbox):
        tx.execute(
            update(table)
            .where(
                table.c.channel == channel,
                table.c.address == address,
                table.c.status == text("'waiting'"),
            )
            .values(address=new_address)
        )


def of_member(tx: Connection, member_id: str) -> tuple[str, ...]:
    """The addresses of a member's own, the one heard last first."""
    rows = tx.execute(
        select(addresses.c.address)
        .where(addresses.c.member_id == member_id)
        .order_by(addresses.c.heard_at.desc().nulls_last(), addresses.c.id)
    )
    return tuple(rows.scalars())
