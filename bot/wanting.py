"""Which reminders a subject wants now, made the kept ones."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import Connection

from bot.facts import Tending
from bot.posting import Rooms
from bot.records import journal, people, rules


def reconcile(tx: Connection, rooms: Rooms, subject_ids: Iterable[str], now: datetime) -> None:
    """Make the kept rules of these subjects the ones their reminders want."""
    kinds = journal.kinds_of(tx, subject_ids)
    for subject_id in sorted(set(subject_ids)):
        kind = kinds.get(subject_id)
        if kind is None or not journal.is_open(tx, subject_id):
            rules.reconcile(tx, subject_id, (), "", now)
            continue
        (folded,) = journal.by_ids(tx, [subject_id], kind, rooms.subjects[kind].fold)
        tender_id = journal.tender_of(tx, subject_id)
        tender = people.by_id(tx, tender_id)
        if tender is None:
            rules.reconcile(tx, subject_id, (), "", now)
            continue
        tending = Tending(
            member_id=tender_id,
            zone=tender.zone,
            hour=tender.hour,
            now=now,
            settings={
                **people.group_of(tx, tender.group_id).settings,
                "recipes": rooms.recipes,
            },
        )
        wanted = [
            each for module in rooms.reminders.values() for each in module.wanted(folded, tending)
        ]
        rules.reconcile(tx, subject_id, wanted, tender_id, now)
