"""The recipes: the list of them; or one, with what goes in, its days, signs and uses."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from bot.craft import making
from bot.craft.amounts import AmountError
from bot.craft.recipe import Recipe, Use
from bot.craft.units import Quantity, settled
from bot.facts import Every, Fact, Ratio, Request, Term
from bot.portions import portions
from bot.pours import litres
from bot.records.book import Answer, Book

KIND = "recipe"

USUAL_ML = 20_000


@dataclass(frozen=True, slots=True)
class Known(Fact):
    """The recipes that are known."""

    words: ClassVar[str] = "recipe.known"
    recipes: tuple[Term, ...]


@dataclass(frozen=True, slots=True)
class Made(Fact):
    """What goes into a vessel of this size, the liquid first."""

    words: ClassVar[str] = "recipe.made"
    recipe: Term
    size: Quantity
    liquid: Term
    amount: Quantity
    portions: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class MadeDry(Fact):
    """What it is made of where no water is measured."""

    words: ClassVar[str] = "recipe.made-dry"
    recipe: Term
    portions: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class Stirred(Fact):
    """How often it is stirred."""

    words: ClassVar[str] = "recipe.stirred"
    every: Every


@dataclass(frozen=True, slots=True)
class Ripe(Fact):
    """The days until it is ready, from warm to cool, and what it then looks and smells like."""

    words: ClassVar[str] = "recipe.ripe"
    warm_days: int
    cool_days: int
    signs: tuple[Term, ...]


@dataclass(frozen=True, slots=True)
class RipeOn(Fact):
    """The day on which it is ready where sources agree, and its signs."""

    words: ClassVar[str] = "recipe.ripe-on"
    plural: ClassVar[str] = "days"
    days: int
    signs: tuple[Term, ...]


@dataclass(frozen=True, slots=True)
class Thrown(Fact):
    """The signs of a spoilt one."""

    words: ClassVar[str] = "recipe.spoilt"
    signs: tuple[Term, ...]


@dataclass(frozen=True, slots=True)
class Keeps(Fact):
    """How long it is at its best, from the lower to the upper figure."""

    words: ClassVar[str] = "recipe.keeps"
    low_days: int
    high_days: int


@dataclass(frozen=True, slots=True)
class Uses(Fact):
    """What it is used for, each with its strength and interval."""

    words: ClassVar[str] = "recipe.uses"
    uses: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class Thinned(Fact):
    """One use: its strength."""

    words: ClassVar[str] = "recipe.use"
    use: Term
    ratio: Ratio


@dataclass(frozen=True, slots=True)
class ThinnedEvery(Fact):
    """One use: its strength and how often."""

    words: ClassVar[str] = "recipe.use-every"
    use: Term
    ratio: Ratio
    every: Every


@dataclass(frozen=True, slots=True)
class AsItStands(Fact):
    """One use without water."""

    words: ClassVar[str] = "recipe.use-as-it-is"
    use: Term


@dataclass(frozen=True, slots=True)
class NoSuchRecipe(Fact):
    """The recipe is not known; those that are."""

    words: ClassVar[str] = "recipe.no-such"
    said: Any
    recipes: tuple[Term, ...]


def answer(request: Request, book: Book) -> Answer:
    """The list; or one recipe in two messages at most."""
    name = request.slots.get("name")
    known = tuple(Term("recipe", kind) for kind in book.recipes)
    if name is None:
        return Answer((Known(known),))
    recipe = book.recipe(name, "")
    if recipe is None:
        return Answer((NoSuchRecipe(name, known),))
    size_ml = USUAL_ML
    if "size" in request.slots:
        size_ml = int(settled(request.slots["size"]).to("millilitre").value)
    try:
        filling = making.made(recipe, size_ml)
    except AmountError:
        filling = making.made(recipe, USUAL_ML)
    return Answer((_made(recipe, filling), *_tended(recipe)))


def _made(recipe: Recipe, filling: making.Making) -> Fact:
    term = Term("recipe", recipe.kind)
    parts = portions(filling.portions)
    if not filling.liquid_ml:
        return MadeDry(term, parts)
    liquid = Term("ingredient", filling.liquid)
    return Made(term, litres(filling.size_ml), liquid, litres(filling.liquid_ml), parts)


def _tended(recipe: Recipe) -> tuple[Fact, ...]:
    ready = recipe.ready
    signs = tuple(Term("sign", each) for each in ready.signs)
    facts: list[Fact] = []
    if recipe.stir_every_days:
        facts.append(Stirred(Every(recipe.stir_every_days, "day")))
    if ready.warm_days == ready.cool_days:
        facts.append(RipeOn(ready.warm_days, signs))
    else:
        facts.append(Ripe(ready.warm_days, ready.cool_days, signs))
    facts.append(Uses(tuple(_use(each) for each in recipe.uses)))
    facts.append(Keeps(recipe.shelf_days, recipe.shelf_days_most))
    facts.append(Thrown(tuple(Term("sign", each) for each in ready.spoilt)))
    return tuple(facts)


def _use(use: Use) -> Fact:
    term = Term("use", use.name)
    if not use.water_parts:
        return AsItStands(term)
    ratio = Ratio(type(use.water_parts)(1), use.water_parts)
    if use.every_days is None:
        return Thinned(term, ratio)
    return ThinnedEvery(term, ratio, Every(use.every_days, "day"))
