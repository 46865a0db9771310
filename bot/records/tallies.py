"""Counters that outlive the rows they count."""

from __future__ import annotations

from collections import Counter

from sqlalchemy import Connection, select

from bot.records.tables import tally
from bot.records.upserting import upsert


def add(tx: Connection, name: str, n: int = 1) -> None:
    """Count `n` more under a name; what stands behind a colon in it says of whom or of what."""
    if n:
        upsert(tx, tally, {"name": name}, {"n": n}, {"n": tally.c.n + n})


def all_of(tx: Connection) -> dict[str, int]:
    """Every counter, whoever it is of."""
    found: Counter[str] = Counter()
    for row in tx.execute(select(tally).order_by(tally.c.name)):
        found[row.name.partition(":")[0]] += row.n
    return dict(found)


def under(tx: Connection, name: str) -> dict[str, int]:
    """The counters of one name by what stands behind its colon."""
    rows = tx.execute(
        select(tally)
        .where(tally.c.name.startswith(f"{name}:", autoescape=True))
        .order_by(tally.c.name)
    )
    return {row.name.removeprefix(f"{name}:"): row.n for row in rows}
