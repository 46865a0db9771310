"""Invitations that are open, and wrong tries at codes."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import func, select

from bot.records.tables import attempt, invite


def live(tx: Any, code: str, now: datetime) -> Any | None:
    """The invitation of a code that still lets somebody in, or None."""
    return tx.execute(
        select(invite).where(
            invite.c.code == code, invite.c.expires_at > now, invite.c.uses_left > 0
        )
    ).first()


def of_group(tx: Any, group_id: str, now: datetime) -> tuple[Any, ...]:
    """The group's invitations that still let somebody in, the newest first."""
    rows = tx.execute(
        select(invite)
        .where(invite.c.group_id == group_id, invite.c.expires_at > now, invite.c.uses_left > 0)
        .order_by(invite.c.made_at.desc())
    )
    return tuple(rows)


def is_taken(tx: Any, code: str) -> bool:
    """Whether a code was ever given out."""
    return tx.execute(select(invite.c.code).where(invite.c.code == code)).first() is not None


def tries(tx: Any, what: str, who: str, since: datetime) -> int:
    """How many wrong tries somebody made after a moment; of everybody where `who` is empty."""
    query = select(func.count()).where(attempt.c.what == what, attempt.c.at > since)
    if who:
        query = query.where(attempt.c.who == who)
    return int(tx.execute(query).scalar_one())
