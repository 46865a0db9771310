"""What groups have learned of a recipe: a cache of what the record says, kept beside it.

One value a group and recipe, and one for all groups together; both can be rebuilt from the
entries alone, and a correction of the record corrects them.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import TypeVar

from sqlalchemy import Connection, bindparam, delete, insert, select, update

from bot.craft import batches, outlook
from bot.craft.learning import Evidence, Pool, leaning
from bot.craft.learning_cache import restored, stored
from bot.craft.recipe import Recipe
from bot.craft.ways import Model, model_of
from bot.records import journal
from bot.records.tables import kept

State = TypeVar("State", Evidence, Pool)

ROOM = "learned"
EVERYONE = "*"


def evidence_of(tx: Connection, group_id: str, recipe: Recipe) -> Evidence:
    """What the group's own batches of the recipe say."""
    return _read(tx, _name(recipe, group_id), _model(recipe), Evidence) or Evidence()


def pool_of(tx: Connection, recipe: Recipe) -> Pool:
    """What all groups' batches of the recipe say together."""
    return _read(tx, _name(recipe, EVERYONE), _model(recipe), Pool) or Pool()


def relearn(tx: Connection, group_id: str, recipe: Recipe, place: Sequence[float]) -> Evidence:
    """Bring the group's value, and everyone's, to what the record says now; the group's."""
    kept_now = evidence_of(tx, group_id, recipe)
    if _recorded(tx, group_id, recipe, place) == kept_now:
        return kept_now
    # Locked, and then read again, so that two workers cannot lose each other's share.
    _touch(tx, _name(recipe, group_id))
    _touch(tx, _name(recipe, EVERYONE))
    model = _model(recipe)
    before = evidence_of(tx, group_id, recipe)
    now = _recorded(tx, group_id, recipe, place)
    everyone = pool_of(tx, recipe) - leaning(model, before) + leaning(model, now)
    _write(tx, _name(recipe, group_id), model, now)
    _write(tx, _name(recipe, EVERYONE), model, everyone)
    return now


def _recorded(tx: Connection, group_id: str, recipe: Recipe, place: Sequence[float]) -> Evidence:
    """What the entries alone say."""
    known = journal.all_subjects(tx, group_id, batches.SUBJECT, batches.fold)
    return outlook.evidence(known, recipe, place)


def _model(recipe: Recipe) -> Model:
    window = outlook.window_of(recipe)
    return model_of(window.first_day, window.last_day)


def _name(recipe: Recipe, group_id: str) -> str:
    """Under its window: a group that changed a recipe's days learns apart from the others."""
    window = outlook.window_of(recipe)
    return f"{recipe.kind}:{window.first_day:g}-{window.last_day:g}:{group_id}"


def _read(tx: Connection, name: str, model: Model, kind: type[State]) -> State | None:
    text = tx.execute(_VALUE, {"of_room": ROOM, "of_name": name}).scalar()
    return restored(model, kind, json.loads(text)) if text else None


_VALUE = select(kept.c.value).where(
    kept.c.channel == bindparam("of_room"), kept.c.name == bindparam("of_name")
)


def _touch(tx: Connection, name: str) -> None:
    tx.execute(
        update(kept).where(kept.c.channel == ROOM, kept.c.name == name).values(value=kept.c.value)
    )


def _write(tx: Connection, name: str, model: Model, state: Evidence | Pool) -> None:
    tx.execute(delete(kept).where(kept.c.channel == ROOM, kept.c.name == name))
    tx.execute(insert(kept).values(channel=ROOM, name=name, value=json.dumps(stored(model, state))))
