"""Which reminders a subject wants now, made the kept ones."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from bot.craft.batches import Batch
from bot.craft.outlook import outlook
from bot.facts import Tending
from bot.posting import Rooms
from bot.records import journal, learnt, people, rules
from bot.records.people import Member


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
            outlook=_outlook(tx, rooms, folded, tender),
        )
        wanted = [
            each for module in rooms.reminders.values() for each in module.wanted(folded, tending)
        ]
        rules.reconcile(tx, subject_id, wanted, tender_id, now)


def _outlook(tx: Connection, rooms: Rooms, folded: object, tender: Member) -> dict[str, Any]:
    """When to look at a batch; what its group learned is brought up to the record first."""
    if not isinstance(folded, Batch) or folded.recipe not in rooms.recipes:
        return {}
    recipe = rooms.recipes[folded.recipe]
    place = tender.settings.get("place", ())
    learnt.relearn(tx, tender.group_id, recipe, place)
    own = learnt.evidence_of(tx, tender.group_id, recipe)
    return {"batch": outlook(folded, recipe, place, own, learnt.pool_of(tx, recipe))}
