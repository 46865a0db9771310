"""Counters that outlive the rows they count."""

from __future__ import annotations

from sqlalchemy import Connection, insert, select, update

from bot.records.tables import tally


def add(tx: Connection, name: str, n: int = 1) -> None:
    """Count `n` more under a name."""
    if not n:
        return
    changed = tx.execute(update(tally).where(tally.c.name == name).values(n=tally.c.n + n))
    if not changed.rowcount:
        tx.execute(insert(tally).values(name=name, n=n))


def all_of(tx: Connection) -> dict[str, int]:
    """Every counter."""
    return {row.name: row.n for row in tx.execute(select(tally).order_by(tally.c.name))}
