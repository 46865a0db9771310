"""What goes into a vessel: a recipe scaled to any size, what it costs, what must be bought."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from fractions import Fraction

from bot.craft.amounts import AmountError, measurable
from bot.craft.marks import handy
from bot.craft.recipe import Ingredient, Recipe, Role, Unit


@dataclass(frozen=True, slots=True)
class Portion:
    """One ingredient of one filling: `low` to `high` of `unit`, of each of `kinds` kinds.

    Both ends are None where no amount is given on purpose.
    """

    name: str
    role: Role
    unit: Unit
    low: int | None
    high: int | None
    kinds: int = 1


@dataclass(frozen=True, slots=True)
class Making:
    """One filling: what was kept, what is added, and what is fed for the water added.

    `liquid` is "water", or the kind of the ready culture that takes its place; empty for none.
    """

    recipe: str
    size_ml: int
    kept_ml: int
    liquid: str
    liquid_ml: int
    portions: tuple[Portion, ...]

    @property
    def feed(self) -> Portion | None:
        """The sugar or whatever feeds it; it is reckoned on `liquid_ml` where kept culture is."""
        return next((each for each in self.portions if each.role == "feed"), None)


def made(recipe: Recipe, size_ml: int, kept_ml: int = 0) -> Making:
    """What goes into a vessel of `size_ml`, some of it already in there as kept culture.

    Feed is for the liquid added, not for what was kept. A kept start needs no starter. Solids are
    taken to add no volume. Amounts are rounded to marks that can be measured, within 1 %.

    Raises:
        AmountError: a size that cannot be, or nothing left to add beside what was kept.
    """
    measurable(size_ml=size_ml)
    if kept_ml < 0:
        raise AmountError("kept_ml", "negative")
    if kept_ml >= size_ml:
        raise AmountError("kept_ml", "too_large")
    added_ml = size_ml - kept_ml
    portions = tuple(
        _portion(each, size_ml, added_ml)
        for each in recipe.ingredients
        if not (each.role == "starter" and kept_ml)
    )
    poured = sum(each.low or 0 for each in portions if each.unit == "millilitre")
    liquid = (recipe.on or "water") if recipe.watered else ""
    liquid_ml = max(0, added_ml - poured) if liquid else 0
    return Making(recipe.kind, size_ml, kept_ml, liquid, liquid_ml, portions)


def _portion(each: Ingredient, size_ml: int, added_ml: int) -> Portion:
    if each.low is None or each.high is None:
        return Portion(each.name, each.role, each.unit, None, None, each.kinds)
    if each.unit == "part":
        return Portion(each.name, each.role, "part", int(each.low), int(each.high), each.kinds)
    if each.vessel_l is not None:
        vessels = (Decimal(size_ml) / 1000 / each.vessel_l).to_integral_value(ROUND_CEILING)
        low, high = int(each.low * vessels), int(each.high * vessels)
        return Portion(each.name, each.role, each.unit, max(1, low), max(1, high), each.kinds)
    over_ml = added_ml if each.per == "litre_of_water_added" else size_ml
    low, high = (handy(Fraction(end) * over_ml / 1000) for end in (each.low, each.high))
    return Portion(each.name, each.role, each.unit, low, high, each.kinds)


@dataclass(frozen=True, slots=True)
class Price:
    """So much money for so much of something, in the ingredient's own unit: 60 for 1000 grams."""

    money: Decimal
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Cost:
    """What one filling costs, from the lower to the upper amounts; `unpriced` is left out.

    Money is in the group's own currency, rounded to hundredths only when it is shown.
    """

    low: Decimal
    high: Decimal
    low_per_litre: Decimal
    high_per_litre: Decimal
    unpriced: tuple[str, ...]


def cost(making: Making, prices: Mapping[str, Price]) -> Cost:
    """What a filling costs and what a litre of it does; kept culture and water cost nothing.

    A culture that takes the place of water is priced under its own kind, per millilitre.

    >>> sugar = Portion("unrefined_sugar", "feed", "gram", 1800, 1800)
    >>> barrel = Making("mother", 200_000, 20_000, "water", 180_000, (sugar,))
    >>> cost(barrel, {"unrefined_sugar": Price(Decimal(60), Decimal(1000))}).low_per_litre
    Decimal('0.54')
    """
    low = high = Decimal(0)
    unpriced: list[str] = []
    wanted = [(each.name, each.low, each.high, each.kinds) for each in making.portions]
    if making.liquid not in {"", "water"}:
        wanted.append((making.liquid, making.liquid_ml, making.liquid_ml, 1))
    for name, least, most, kinds in wanted:
        price = prices.get(name)
        if price is None or price.amount <= 0 or least is None or most is None:
            unpriced.append(name)
            continue
        low += price.money * least * kinds / price.amount
        high += price.money * most * kinds / price.amount
    litres = Decimal(making.size_ml) / 1000
    return Cost(low, high, low / litres, high / litres, tuple(unpriced))


def shopping(makings: Sequence[Making], in_store: Mapping[str, int] | None = None) -> list[Portion]:
    """Everything to be bought for some fillings together, less what is in store.

    What is there in full is left out; a mineral without an amount stays on the list once. A
    ready culture that some of them need is listed in millilitres under its kind.
    """
    store = in_store or {}
    order: list[str] = []
    sums: dict[str, Portion] = {}
    for making in makings:
        portions = list(making.portions)
        if making.liquid not in {"", "water"}:
            need = making.liquid_ml
            portions.append(Portion(making.liquid, "base", "millilitre", need, need))
        for each in portions:
            if each.name not in sums:
                order.append(each.name)
                sums[each.name] = each
            else:
                sums[each.name] = _together(sums[each.name], each)
    bought: list[Portion] = []
    for name in order:
        each, have = sums[name], store.get(name, 0)
        if each.low is None or each.high is None:
            bought.append(each)
        elif each.high * each.kinds > have:
            low = max(0, each.low - have // each.kinds)
            high = each.high - have // each.kinds
            bought.append(Portion(name, each.role, each.unit, low, high, each.kinds))
    return bought


def _together(one: Portion, other: Portion) -> Portion:
    if one.low is None or one.high is None or other.low is None or other.high is None:
        return one if one.low is not None else other
    kinds = max(one.kinds, other.kinds)
    return Portion(one.name, one.role, one.unit, one.low + other.low, one.high + other.high, kinds)
