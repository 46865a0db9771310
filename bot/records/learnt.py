"""What groups have learned of a recipe: a cache of what the record says, kept beside it.

One value a group and recipe, and one for all groups together; both can be rebuilt from the
entries alone, and a correction of the record corrects them.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence

from sqlalchemy import Connection, bindparam, delete, insert, select, update

from bot.craft import outlook
from bot.craft.batches import Batch
from bot.craft.learning import Evidence, Pool, leaning
from bot.craft.learning_cache import restored, stored
from bot.craft.recipe import Recipe
from bot.craft.ways import Model, model_of
from bot.records.tables import kept

ROOM = "learned"
EVERYONE = "*"


def known(tx: Connection, group_id: str, recipe: Recipe) -> tuple[Evidence, Pool]:
    """What the group's own batches of the recipe say, and what all groups' say together."""
    mine, everyones = _name(recipe, group_id), _name(recipe, EVERYONE)
    rows = tx.execute(_VALUES, {"of_room": ROOM, "of_names": [mine, everyones]})
    texts = {row.name: row.value for row in rows if row.value}
    model = _model(recipe)
    own = restored(model, Evidence, json.loads(texts[mine])) if mine in texts else None
    pool = restored(model, Pool, json.loads(texts[everyones])) if everyones in texts else None
    return own or Evidence(), pool or Pool()


_VALUES = select(kept.c.name, kept.c.value).where(
    kept.c.channel == bindparam("of_room"),
    kept.c.name.in_(bindparam("of_names", expanding=True)),
)


def relearn(
    tx: Connection,
    group_id: str,
    recipe: Recipe,
    place: Sequence[float],
    batches: Iterable[Batch],
) -> tuple[Evidence, Pool]:
    """Bring the group's value, and everyone's, to what the record says now; both."""
    now = outlook.evidence(batches, recipe, place)
    before, everyone = known(tx, group_id, recipe)
    if now == before:
        return before, everyone
    # Locked, and then read again, so that two workers cannot lose each other's share.
    _touch(tx, _name(recipe, group_id))
    _touch(tx, _name(recipe, EVERYONE))
    model = _model(recipe)
    before, everyone = known(tx, group_id, recipe)
    everyone = everyone - leaning(model, before) + leaning(model, now)
    _write(tx, _name(recipe, group_id), model, now)
    _write(tx, _name(recipe, EVERYONE), model, everyone)
    return now, everyone


def _model(recipe: Recipe) -> Model:
    window = outlook.window_of(recipe)
    return model_of(window.first_day, window.last_day)


def _name(recipe: Recipe, group_id: str) -> str:
    """Under its window: a group that changed a recipe's days learns apart from the others."""
    window = outlook.window_of(recipe)
    return f"{recipe.kind}:{window.first_day:g}-{window.last_day:g}:{group_id}"


def _touch(tx: Connection, name: str) -> None:
    tx.execute(
        update(kept).where(kept.c.channel == ROOM, kept.c.name == name).values(value=kept.c.value)
    )


def _write(tx: Connection, name: str, model: Model, state: Evidence | Pool) -> None:
    tx.execute(delete(kept).where(kept.c.channel == ROOM, kept.c.name == name))
    tx.execute(insert(kept).values(channel=ROOM, name=name, value=json.dumps(stored(model, state))))
