"""The cautions, on asking: all of them, or those of a recipe, a use, a crop or a worry."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from bot.care import asked, group_cautions, said
from bot.craft.cautions import CAUTIONS, EVERY_MOMENT, Added, Caution, Situation, fitting
from bot.facts import Request, Term
from bot.records.book import Answer, Book

KIND = "caution"

_WORRIES = {
    "drinking": ("not_drinking", "eyes_skin", "local_rules"),
    "children": ("children_animals", "not_drinking", "sheep_copper", "local_rules"),
    "scrap": ("no_scrap_metal", "test_before_minerals", "local_rules"),
    "copper": ("no_copper_lime", "sheep_copper", "test_before_minerals", "local_rules"),
}
"""What answers a worry: the cautions about it, gravest first."""


def answer(request: Request, book: Book) -> Answer:
    """Every caution that fits, the weightiest first; a long list comes in pages."""
    slots = request.slots
    topic = slots.get("topic")
    if isinstance(topic, Term) and topic.name in _WORRIES:
        by_key = {each.key: each for each in CAUTIONS}
        return _listed([by_key[key] for key in _WORRIES[topic.name]], book)
    group = group_cautions(book)
    narrow = [name for name in ("recipe", "use", "crop") if name in slots]
    if not narrow:
        always: list[Caution | Added] = [each for each in CAUTIONS if not each.only_why]
        return _listed(sorted([*always, *group], key=lambda each: -each.weight), book)
    recipe = slots.get("recipe")
    found: dict[str, Caution | Added] = {}
    for moment in sorted(EVERY_MOMENT):
        now = Situation(
            moment,
            book.recipe(recipe, "mother"),
            _key(slots.get("use")),
            _key(slots.get("crop")),
            first=True,
        )
        found.update({each.key: each for each in fitting(now, group)})
    return _listed(sorted(found.values(), key=lambda each: -each.weight), book)


def _listed(cautions: Sequence[Caution | Added], book: Book) -> Answer:
    return Answer(tuple(said(each) for each in cautions), (asked(cautions, book),))


def _key(value: Any) -> str:
    return value.name if isinstance(value, Term) else str(value or "")
