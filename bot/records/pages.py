"""The rest of a long answer, kept until the member asks for more."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from sqlalchemy import Connection, bindparam, delete, insert, select

from bot.records.tables import rest

_DROP = delete(rest).where(rest.c.member_id == bindparam("of_member"))
_KEEP = insert(rest)


def keep(tx: Connection, pages: Mapping[str, Sequence[str]], now: datetime) -> None:
    """Keep each member's pages that were not sent; what an earlier answer left is gone."""
    if pages:
        tx.execute(_DROP, [{"of_member": member_id} for member_id in pages])
    rows = [
        {"member_id": member_id, "pages": list(left), "said_at": now}
        for member_id, left in pages.items()
        if left
    ]
    if rows:
        tx.execute(_KEEP, rows)


def take(tx: Connection, member_id: str, now: datetime) -> str:
    """The next kept page, no longer kept; empty if there is none."""
    found = tx.execute(select(rest.c.pages).where(rest.c.member_id == member_id)).scalar() or []
    keep(tx, {member_id: found[1:]}, now)
    return str(found[0]) if found else ""
