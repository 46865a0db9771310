"""What goes on from one batch into the next: whether it may, and the line of fillings."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from bot.craft.batches import Batch
from bot.craft.recipe import Recipe

Renewal = Literal["carry_on", "last_one", "fresh_starter"]


def may_be_kept_back(batch: Batch) -> bool:
    """Whether some of it may start the next one: never from a spoilt batch."""
    return batch.state != "bad" and not any(look.verdict == "bad" for look in batch.looks)


def renewal(batch: Batch, recipe: Recipe) -> Renewal:
    """Whether the line may be carried on, once more, or should begin from a fresh starter.

    Source: common practice, no source: a line drifts, and is renewed after `generations`.
    """
    if not may_be_kept_back(batch):
        return "fresh_starter"
    if recipe.generations is None or batch.generation < recipe.generations - 1:
        return "carry_on"
    return "last_one" if batch.generation == recipe.generations - 1 else "fresh_starter"


def line(batch: Batch, batches: Mapping[str, Batch]) -> tuple[Batch, ...]:
    """Every filling that this one descends from, itself last, oldest first.

    Follows the barrel's own past, then the parent in another barrel, found by id in `batches`.
    """
    found: list[Batch] = [batch]
    seen = {batch.id}
    current = batch
    past = list(batch.past)
    while True:
        if current.kept_back_ml and not current.parent and past:
            current = past.pop()
        elif current.parent and current.parent not in seen and current.parent in batches:
            giver = batches[current.parent]
            seen.add(giver.id)
            asked_at = current.started_at
            fillings = [
                each
                for each in (*giver.past, giver)
                if each.started_at and asked_at and each.started_at <= asked_at
            ]
            if not fillings:
                break
            current, past = fillings[-1], fillings[:-1]
        else:
            break
        found.append(current)
    return tuple(reversed(found))
