"""What a litre costs, from the prices the group gave; a price kept when one is told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from bot.craft import making
from bot.craft.amounts import AmountError
from bot.craft.making import Price
from bot.craft.units import Quantity, UnitError, measures, settled
from bot.facts import Fact, Request, Term
from bot.pours import litres
from bot.records.book import Answer, Book
from bot.records.changes import GroupSet

KIND = "cost"

USUAL_RECIPE = "mother"
USUAL_ML = 200_000
BARREL_ML = 200_000
"""The barrel that a culture inside a brew is reckoned on."""
DEAREST = Decimal(1_000_000_000)
_INNER = {"mass": "gram", "volume": "millilitre"}


@dataclass(frozen=True, slots=True)
class PriceKept(Fact):
    """A price the group gave: so much money for one unit of a thing."""

    words: ClassVar[str] = "cost.price"
    name: Any
    money: Decimal
    unit: Any


@dataclass(frozen=True, slots=True)
class PricePerPack(Fact):
    """A price for one of a thing that is counted."""

    words: ClassVar[str] = "cost.price-each"
    name: Any
    money: Decimal


@dataclass(frozen=True, slots=True)
class PerLitre(Fact):
    """What a litre costs, and the whole vessel."""

    words: ClassVar[str] = "cost.per-litre"
    each: Decimal
    money: Decimal
    size: Quantity
    recipe: Term


@dataclass(frozen=True, slots=True)
class Unpriced(Fact):
    """What has no price yet and is left out; how to give one."""

    words: ClassVar[str] = "cost.unpriced"
    names: tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class CultureInside(Fact):
    """What a litre of the ready culture in it was reckoned at."""

    words: ClassVar[str] = "cost.culture-inside"
    recipe: Term
    money: Decimal


@dataclass(frozen=True, slots=True)
class NoPrices(Fact):
    """No price was given yet; how to give one."""

    words: ClassVar[str] = "cost.no-prices"


@dataclass(frozen=True, slots=True)
class PriceCannotBe(Fact):
    """A price that cannot be."""

    words: ClassVar[str] = "cost.cannot-be"


def answer(request: Request, book: Book) -> Answer:
    """Keep the prices that were told; then the cost, as far as prices are known."""
    slots = request.slots
    kept: dict[str, list[str]] = dict(book.group.settings.get("prices", {}))
    facts: list[Fact] = []
    for said in slots.get("prices", ()):
        found = _price(*said)
        if found is None:
            return Answer((PriceCannotBe(),))
        fact, name, price = found
        kept[name] = [str(price.money), str(price.amount)]
        facts.append(fact)
    recipe = book.recipe(slots.get("recipe"), USUAL_RECIPE) or book.recipes[USUAL_RECIPE]
    size_ml = USUAL_ML
    if "size" in slots:
        size_ml = int(settled(slots["size"]).to("millilitre").value)
    try:
        filling = making.made(recipe, size_ml)
    except AmountError:
        return Answer((PriceCannotBe(),))
    told = {name for name, _money, _unit in slots.get("prices", ())}
    if not told or told & {each.name for each in filling.portions}:
        facts.extend(_cost(filling, _prices(kept), book))
    changes = (GroupSet("prices", kept),) if slots.get("prices") else ()
    return Answer(tuple(facts), changes)


def _cost(filling: making.Making, prices: Mapping[str, Price], book: Book) -> tuple[Fact, ...]:
    inside, missing = _inside(filling, prices, book)
    if inside is not None:
        prices = {**prices, filling.liquid: inside}
    cost = making.cost(filling, prices)
    untold = {each.name for each in filling.portions if each.high is None}
    names = [name for name in cost.unpriced if name not in untold and name != filling.liquid]
    if inside is None and filling.liquid in cost.unpriced and not missing:
        names.append(filling.liquid)
    unpriced = tuple(Term("ingredient", name) for name in dict.fromkeys((*names, *missing)))
    if not cost.high:
        return (Unpriced(unpriced),) if prices and unpriced else (NoPrices(),)
    cents = Decimal("0.01")
    said: list[Fact] = [
        PerLitre(
            cost.high_per_litre.quantize(cents) or cost.high_per_litre,
            cost.high.quantize(cents),
            litres(filling.size_ml),
            Term("recipe", filling.recipe),
        )
    ]
    if inside is not None:
        litre = inside.money * 1000 / inside.amount
        said.append(CultureInside(Term("recipe", filling.liquid), litre.quantize(cents) or litre))
    if unpriced:
        said.append(Unpriced(unpriced))
    return tuple(said)


def _inside(
    filling: making.Making, prices: Mapping[str, Price], book: Book
) -> tuple[Price | None, tuple[str, ...]]:
    """What the ready culture that takes the water's place costs, and what of it is unpriced.

    Reckoned on a fresh barrel; None where a price was told for the culture itself, or none for
    what goes into it.
    """
    recipe = book.recipes.get(filling.liquid)
    if recipe is None or filling.liquid in prices:
        return None, ()
    cost = making.cost(making.made(recipe, BARREL_ML), prices)
    return (Price(cost.high, Decimal(BARREL_ML)) if cost.high else None), cost.unpriced


def _price(name: str, money: Decimal, unit: str) -> tuple[Fact, str, Price] | None:
    """The price in the ingredient's own unit: grams, millilitres, or one by one."""
    term = Term("ingredient", name) if "_" in name or name in {"milk", "mother"} else name
    if not 0 < money <= DEAREST:
        return None
    if not unit:
        return PricePerPack(term, money), name, Price(money, Decimal(1))
    try:
        inner = _INNER[measures(unit)]
        amount = settled(Quantity(Decimal(1), unit)).to(inner).value
    except (KeyError, UnitError):
        return None
    return PriceKept(term, money, Quantity(Decimal(1), unit)), name, Price(money, amount)


def _prices(kept: Mapping[str, list[str]]) -> dict[str, Price]:
    return {name: Price(Decimal(money), Decimal(amount)) for name, (money, amount) in kept.items()}
