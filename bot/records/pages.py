"""The rest of a long answer, kept until the member asks for more."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import Connection, bindparam, delete, insert, select

from bot.records.tables import rest

_DROP = delete(rest).where(rest.c.member_id == bindparam("of_member"))


def keep(tx: Connection, member_id: str, pages: Sequence[str], now: datetime) -> None:
    """Keep the pages that were not sent; what an earlier answer left is gone."""
    tx.execute(_DROP, {"of_member": member_id})
    if pages:
        tx.execute(insert(rest).values(member_id=member_id, pages=list(pages), said_at=now))


def take(tx: Connection, member_id: str, now: datetime) -> str:
    """The next kept page, no longer kept; empty if there is none."""
    found = tx.execute(select(rest.c.pages).where(rest.c.member_id == member_id)).scalar() or []
    keep(tx, member_id, found[1:], now)
    return str(found[0]) if found else ""
