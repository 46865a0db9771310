"""What must be bought for a vessel of a recipe; beside it, with some kept back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from bot.craft import batches, making
from bot.craft.amounts import AmountError
from bot.craft.units import Quantity, settled
from bot.facts import Fact, Question, Request, Term
from bot.portions import portions
from bot.pours import litres
from bot.records.book import Answer, Book

KIND = "shopping"

USUAL_RECIPE = "mother"


@dataclass(frozen=True, slots=True)
class ToBuy(Fact):
    """What a fresh vessel of this size needs."""

    words: ClassVar[str] = "shopping.fresh"
    size: Quantity
    recipe: Term
    items: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class ToBuyKept(Fact):
    """What it needs with the usual share kept back from the last one."""

    words: ClassVar[str] = "shopping.kept"
    kept: Quantity
    items: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class ForHowMuch(Fact):
    """Asks for how many litres."""

    words: ClassVar[str] = "shopping.how-much"


@dataclass(frozen=True, slots=True)
class SizeOut(Fact):
    """A size that cannot be."""

    words: ClassVar[str] = "shopping.size-cannot-be"


def answer(request: Request, book: Book) -> Answer:
    """The list for a fresh start; a second line for one with culture kept back."""
    named = request.slots.get("recipe")
    recipe = book.recipe(named, USUAL_RECIPE) or book.recipes[USUAL_RECIPE]
    if "size" not in request.slots:
        return Answer(question=Question(ForHowMuch(), request, "size"))
    size_ml = int(settled(request.slots["size"]).to("millilitre").value)
    try:
        fresh = making.made(recipe, size_ml)
    except AmountError:
        return Answer((SizeOut(),))
    facts: list[Fact] = [ToBuy(litres(size_ml), Term("recipe", recipe.kind), _items(fresh))]
    kept_ml = batches.keep_back_ml(recipe, size_ml)
    if kept_ml:
        kept = making.made(recipe, size_ml, kept_ml)
        facts.append(ToBuyKept(litres(kept_ml), _items(kept)))
    return Answer(tuple(facts))


def _items(filling: making.Making) -> tuple[Fact, ...]:
    return portions(making.shopping([filling]))
