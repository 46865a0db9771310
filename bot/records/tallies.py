"""Counters that outlive the rows they count."""

from __future__ import annotations

from sqlalchemy import Connection, select

from bot.records.tables import tally
from bot.records.upserting import upsert


def add(tx: Connection, name: str, n: int = 1) -> None:
    """Count `n` more under a name."""
    if n:
        upsert(tx, tally, {"name": name}, {"n": n}, {"n": tally.c.n + n})


def all_of(tx: Connection) -> dict[str, int]:
    """Every counter."""
    return {row.name: row.n for row in tx.execute(select(tally).order_by(tally.c.name))}
