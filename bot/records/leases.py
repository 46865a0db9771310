"""Leases: a name held by one copy of the program until a moment, then free for another."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import Connection, delete, insert, or_, select, update
from sqlalchemy.exc import IntegrityError

from bot.records.store import Store
from bot.records.tables import lease


def hold(store: Store, name: str, holder: str, now: datetime, length: timedelta) -> bool:
    """Take or renew the lease; False while another copy's still runs."""
    try:
        with store.begin() as tx:
            taken = tx.execute(
                update(lease)
                .where(
                    lease.c.name == name,
                    or_(
                        lease.c.holder == holder,
                        lease.c.until <= now,
                        # Written by a clock that has been set back since: nobody renews that far.
                        lease.c.until > now + 2 * length,
                    ),
                )
                .values(holder=holder, until=now + length)
            ).rowcount
            if taken:
                return True
            if tx.execute(select(lease.c.name).where(lease.c.name == name)).first():
                return False
            tx.execute(insert(lease).values(name=name, holder=holder, until=now + length))
    except IntegrityError:
        # Another copy wrote the first row in the same moment.
        return False
    return True


def give_back(store: Store, name: str, holder: str) -> None:
    """Give the lease back at once."""
    with store.begin() as tx:
        tx.execute(delete(lease).where(lease.c.name == name, lease.c.holder == holder))


def held(tx: Connection, now: datetime) -> dict[str, tuple[str, datetime]]:
    """Who holds what, and until when."""
    rows = tx.execute(select(lease).where(lease.c.until > now).order_by(lease.c.name))
    return {row.name: (row.holder, row.until) for row in rows}
