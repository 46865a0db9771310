"""What a brew holds at most, if all of its seed dissolves; thinned; on an area."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from bot.craft import nutrients
from bot.craft.recipe import Recipe
from bot.craft.units import Quantity, settled
from bot.facts import Fact, Ratio, Request, Term
from bot.records.book import Answer, Book

KIND = "nutrients"

USUAL_RECIPE = "brew"
TOLD_THINNED = ("N", "P", "K", "Zn")


@dataclass(frozen=True, slots=True)
class Element(Fact):
    """So much of one element, by its chemical symbol."""

    words: ClassVar[str] = "nutrients.element"
    symbol: str
    amount: Quantity


@dataclass(frozen=True, slots=True)
class AtMost(Fact):
    """What a litre holds at most, if all dissolves."""

    words: ClassVar[str] = "nutrients.at-most"
    recipe: Term
    elements: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class AtMostThinned(Fact):
    """What a litre of the thinned brew holds at most."""

    words: ClassVar[str] = "nutrients.thinned"
    use: Term
    ratio: Ratio
    elements: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class AtMostOnArea(Fact):
    """What so much of the brew brings to an area at most."""

    words: ClassVar[str] = "nutrients.on-area"
    brew: Quantity
    area: Quantity
    elements: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class NoFigures(Fact):
    """Nothing in the recipe has published figures."""

    words: ClassVar[str] = "nutrients.no-figures"
    recipe: Term


def answer(request: Request, book: Book) -> Answer:
    """The upper bound of a litre, of each thinning, and of an area where one is named."""
    slots = request.slots
    recipe = book.recipe(slots.get("recipe"), USUAL_RECIPE) or book.recipes[USUAL_RECIPE]
    grams = {role: _grams_per_l(recipe, role) for role in ("oilseed", "pulse")}
    term = Term("recipe", recipe.kind)
    if not all(grams.values()):
        return Answer((NoFigures(term),))
    held = nutrients.at_most_of_kinds(grams["oilseed"], grams["pulse"], Decimal(1))
    facts: list[Fact] = [AtMost(term, _elements(held, nutrients.ELEMENTS))]
    if "water" in slots and "area" in slots:
        litres = settled(slots["water"]).to("litre").value
        hectares = settled(slots["area"]).to("hectare").value
        brought = {
            each: g * hectares for each, g in nutrients.g_per_ha(held, litres / hectares).items()
        }
        told = _elements({each: g * 1000 for each, g in brought.items()}, nutrients.ELEMENTS)
        facts.append(AtMostOnArea(slots["water"], slots["area"], told))
        return Answer(tuple(facts))
    for use in recipe.uses:
        thin = nutrients.thinned(held, use.water_parts)
        ratio = Ratio(Decimal(1), use.water_parts)
        facts.append(AtMostThinned(Term("use", use.name), ratio, _elements(thin, TOLD_THINNED)))
    return Answer(tuple(facts))


def _grams_per_l(recipe: Recipe, role: str) -> Decimal:
    return sum(
        (
            (each.high or Decimal(0)) * each.kinds
            for each in recipe.ingredients
            if each.role == role and each.unit == "gram" and each.per == "litre_of_batch"
        ),
        Decimal(0),
    )


def _elements(mg: Mapping[str, Any], names: tuple[str, ...]) -> tuple[Fact, ...]:
    """Each amount rounded to two figures: nothing finer is known."""
    return tuple(Element(name, _rounded(mg[name])) for name in names)


def _rounded(mg: Decimal) -> Quantity:
    two = Decimal(f"{mg:.1E}")
    if two >= 1000:
        return Quantity(two / 1000, "gram")
    return Quantity(two, "milligram")
