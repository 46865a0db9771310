"""Which reminders a subject wants now, made the kept ones."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from bot.clock import local_day
from bot.craft import batches
from bot.craft import rota as rotas
from bot.craft.batches import Batch
from bot.craft.outlook import outlook
from bot.craft.recipe import Recipe
from bot.facts import Tending
from bot.posting import Rooms
from bot.recipes import own
from bot.records import journal, learnt, people, rules
from bot.records.people import Member


def reconcile(tx: Connection, rooms: Rooms, subject_ids: Iterable[str], now: datetime) -> None:
    """Make the kept rules of these subjects the ones their reminders want."""
    asked = set(subject_ids)
    if not asked:
        return
    kept = journal.kept_as(tx, asked)
    rota_in = [each.group_id for each in kept.values() if each.kind == rotas.SUBJECT]
    if rota_in:
        # Whose turn it is decides who is asked to stir.
        asked |= set(journal.open_ids(tx, rota_in[0]))
        kept = journal.kept_as(tx, asked)
    shared: dict[str, dict[str, Any]] = {}
    for subject_id in sorted(asked):
        here = kept.get(subject_id)
        if here is None or not here.is_open:
            rules.reconcile(tx, subject_id, (), "", now)
            continue
        group_id, tender_id = here.group_id, here.member_id
        folded, known = _folded(tx, rooms, subject_id, here)
        if group_id not in shared:
            shared[group_id] = _shared(tx, group_id, now)
        tender = _tender(tx, tender_id, shared[group_id])
        if tender is None:
            rules.reconcile(tx, subject_id, (), "", now)
            continue
        group = people.group_of(tx, group_id)
        recipes = own.of_group(rooms.recipes, group.settings)
        tending = Tending(
            member_id=tender.id,
            zone=tender.zone,
            hour=tender.hour,
            now=now,
            settings={
                **group.settings,
                "recipes": recipes,
            },
            outlook={**_outlook(tx, recipes, folded, known, tender), **shared[group_id]},
        )
        wanted = [
            each for module in rooms.reminders.values() for each in module.wanted(folded, tending)
        ]
        rules.reconcile(tx, subject_id, wanted, tender.id, now)


def _folded(
    tx: Connection, rooms: Rooms, subject_id: str, here: journal.Kept
) -> tuple[object, Sequence[Batch]]:
    """The subject, and all the batches of its group where it is one: they teach when to look."""
    fold = rooms.subjects[here.kind].fold
    if here.kind != batches.SUBJECT:
        (folded,) = journal.by_ids(tx, [subject_id], here.kind, fold)
        return folded, ()
    known: Sequence[Batch] = journal.all_subjects(tx, here.group_id, here.kind, fold)
    return next(each for each in known if each.id == subject_id), known


def _shared(tx: Connection, group_id: str, now: datetime) -> dict[str, Any]:
    """What reminders may know of the group: its people, who keeps it, whose turn it is."""
    everyone = people.members_of(tx, group_id)
    keepers = people.members_of(tx, group_id, role="keeper") if len(everyone) > 1 else everyone
    shared: dict[str, Any] = {
        "people": {each.id: each for each in everyone},
        "keepers": tuple(each.id for each in keepers),
    }
    if everyone:
        today = local_day(now, everyone[0].zone)
        for rota in journal.open_subjects(tx, group_id, rotas.SUBJECT, rotas.fold):
            here = rotas.among(rota, shared["people"], shared["keepers"])
            shared["rota"] = rotas.ahead(here, max(today, rota.as_of))
    return shared


def _tender(tx: Connection, tender_id: str, shared: Mapping[str, Any]) -> Member | None:
    """Who tends a subject: who opened it, else (they left the group) its first keeper."""
    here: Mapping[str, Member] = shared["people"]
    if tender_id in here or not here:
        return here.get(tender_id) or people.by_id(tx, tender_id)
    return here.get(next(iter(shared["keepers"]), ""))


def _outlook(
    tx: Connection,
    recipes: Mapping[str, Recipe],
    folded: object,
    known: Sequence[Batch],
    tender: Member,
) -> dict[str, Any]:
    """When to look at a batch; what its group learned is brought up to the record first."""
    if not isinstance(folded, Batch) or folded.recipe not in recipes:
        return {}
    recipe = recipes[folded.recipe]
    place = tender.settings.get("place", ())
    own, everyone = learnt.relearn(tx, folded.group_id, recipe, place, known)
    return {"batch": outlook(folded, recipe, place, own, everyone)}
