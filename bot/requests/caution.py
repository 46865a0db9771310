"""The cautions, on asking: all of them, or those of a recipe, a use, a crop or a worry."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from bot.craft.cautions import CAUTIONS, EVERY_MOMENT, Added, Caution, Situation, fitting
from bot.facts import Fact, Request, Term
from bot.records.book import Answer, Book

KIND = "caution"

_WORRIES = {
    "drinking": ("not_drinking", "eyes_skin", "local_rules"),
    "children": ("children_animals", "not_drinking", "sheep_copper", "local_rules"),
    "copper": ("no_copper_lime", "sheep_copper", "test_before_minerals", "local_rules"),
}
"""What answers a worry: the cautions about it, gravest first."""


@dataclass(frozen=True, slots=True)
class Cautioned(Fact):
    """One caution, in a word of the trade or in the group's own words."""

    words: ClassVar[str] = "caution.one"
    caution: Any


def answer(request: Request, book: Book) -> Answer:
    """Every caution that fits, the weightiest first; a long list comes in pages."""
    slots = request.slots
    topic = slots.get("topic")
    if isinstance(topic, Term) and topic.name in _WORRIES:
        return Answer(tuple(Cautioned(Term("caution", key)) for key in _WORRIES[topic.name]))
    group = group_cautions(book)
    narrow = [name for name in ("recipe", "use", "crop") if name in slots]
    if not narrow:
        always: list[Caution | Added] = [each for each in CAUTIONS if not each.only_why]
        every = sorted([*always, *group], key=lambda each: -each.weight)
        return Answer(tuple(said(each) for each in every))
    recipe = slots.get("recipe")
    found: dict[str, Caution | Added] = {}
    for moment in sorted(EVERY_MOMENT):
        now = Situation(
            moment,
            book.recipes.get(recipe.name if isinstance(recipe, Term) else "mother"),
            _key(slots.get("use")),
            _key(slots.get("crop")),
            first=True,
        )
        found.update({each.key: each for each in fitting(now, group)})
    ordered = sorted(found.values(), key=lambda each: -each.weight)
    return Answer(tuple(said(each) for each in ordered))


def said(caution: Caution | Added) -> Fact:
    """A caution as a fact; a group's own in its own words."""
    if isinstance(caution, Added):
        return Cautioned(caution.text)
    return Cautioned(Term("caution", caution.key))


def group_cautions(book: Book) -> tuple[Added, ...]:
    """The cautions the group added, oldest first."""
    kept = book.group.settings.get("cautions", {})
    return tuple(Added(key, str(text)) for key, text in kept.items())


def _key(value: Any) -> str:
    return value.name if isinstance(value, Term) else str(value or "")
