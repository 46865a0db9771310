"""Days that rounds stop before a harvest, by the rule the group chose."""

from __future__ import annotations

from typing import cast, get_args

from bot.craft.crops import crop_of
from bot.craft.harvest import STOP_DAYS
from bot.craft.interval import Rule, interval
from bot.craft.recipe import Recipe
from bot.records.book import Book

NEVER_DAYS = 400
"""A rule that forbids it on what is eaten: no round fits before any harvest that is planned."""


def stop_days(book: Book, recipe: Recipe, use: str, crop: str) -> int | None:
    """Days without a round before the harvest; None where custom's own days stay.

    What is poured on soil only is not on the eaten part, so the strict reading leaves it be.
    """
    chosen = str(book.group.settings.get("harvest_rule", ""))
    rule = cast("Rule", chosen) if chosen in get_args(Rule) else None
    days = book.group.settings.get("harvest_days")
    found = interval(recipe, crop_of(crop), use, rule, None if days is None else int(days))
    if not found.may_touch and use == "leaf":
        return NEVER_DAYS
    return found.days if found.days > STOP_DAYS else None
