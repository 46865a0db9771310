"""What is due and is not to be said: passed by, with what became of it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import Connection, update

from bot.records import rules
from bot.records.tables import rule


def pass_over(tx: Connection, now: datetime, became: str) -> int:
    """Take everything due up to `now` without a word, as after a restore; how many days."""
    passed = 0
    while owners := rules.owners_due(tx, now, 50):
        passed += pass_by(tx, owners, now, became)
    return passed


def pass_by(tx: Connection, member_ids: Sequence[str], now: datetime, became: str) -> int:
    """Take what is due for these members without a word; how many days."""
    found = rules.waiting(tx, member_ids, now)
    taken = [each for theirs in found.values() for each in rules.take(theirs, now, now)]
    rules.settle(tx, [(each, became, None) for each in taken], now)
    return sum(1 + len(each.folded) for each in taken)


def rest(tx: Connection, member_id: str, now: datetime) -> None:
    """What is due for a member falls due no more, until it is wanted anew."""
    due = (rule.c.member_id == member_id) & (rule.c.due_at <= now)
    tx.execute(update(rule).where(due).values(due_on=None, due_at=None))
