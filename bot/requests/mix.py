"""How much culture and how much water: from tanks, a volume, an area, plants or what is in hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any, ClassVar

from bot import care
from bot.craft import mixing
from bot.craft.recipe import Recipe, Use
from bot.craft.units import Quantity, settled
from bot.facts import Count, Fact, Option, Per, Question, Ratio, Request, Span, Term
from bot.pours import ByRecipe, ByRecipeAsItIs, litres, one_mix, poured
from bot.records.book import Answer, Book

KIND = "mix"

USUAL_RECIPE = "mother"
HECTARE_L = (Decimal(250), Decimal(600))
"""Litres a hectare from a knapsack. Source: agricultureinindia.net (extension text), seen."""


@dataclass(frozen=True, slots=True)
class ByRatio(Fact):
    """The strength that was asked for, with both parts said."""

    words: ClassVar[str] = "mix.by-ratio"
    ratio: Ratio
    culture_parts: Decimal
    water_parts: Decimal


@dataclass(frozen=True, slots=True)
class FromInHand(Fact):
    """How much mix the culture in hand makes."""

    words: ClassVar[str] = "mix.from-in-hand"
    mix: Quantity


@dataclass(frozen=True, slots=True)
class AtRate(Fact):
    """The volume per area or plant the amounts are for."""

    words: ClassVar[str] = "mix.at-rate"
    amount: Any
    per: Per


@dataclass(frozen=True, slots=True)
class HowMuchPerArea(Fact):
    """Asks how many litres of mix go on one unit of area; what is usual with a knapsack."""

    words: ClassVar[str] = "mix.how-much-per-area"
    area: Quantity
    one: Quantity
    usual: Span


@dataclass(frozen=True, slots=True)
class HowMuchOnSoil(Fact):
    """Asks how much mix a plant gets, as a drench is judged by plants; nothing usual is known."""

    words: ClassVar[str] = "mix.how-much-on-soil"
    area: Quantity
    one: Quantity


@dataclass(frozen=True, slots=True)
class HowMuchPerPlant(Fact):
    """Asks how much mix each plant gets."""

    words: ClassVar[str] = "mix.how-much-per-plant"
    plants: Count


@dataclass(frozen=True, slots=True)
class HowMuch(Fact):
    """Asks for the amount: tanks, litres, area or plants."""

    words: ClassVar[str] = "mix.how-much"
    recipe: Term
    use: Term
    ratio: Ratio


@dataclass(frozen=True, slots=True)
class WhichUse(Fact):
    """Asks what it is for, naming the uses that are known."""

    words: ClassVar[str] = "mix.which-use"
    uses: tuple[Term, ...]


@dataclass(frozen=True, slots=True)
class WhatTank(Fact):
    """Asks for the size of the tank."""

    words: ClassVar[str] = "mix.what-tank"
    tanks: Count


@dataclass(frozen=True, slots=True)
class NotForUse(Fact):
    """The recipe is not put to that use; for which it is."""

    words: ClassVar[str] = "mix.not-for-use"
    recipe: Term
    use: Term
    uses: tuple[Term, ...]


@dataclass(frozen=True, slots=True)
class Impossible(Fact):
    """An amount that cannot be, and an example that works."""

    words: ClassVar[str] = "mix.impossible"


def answer(request: Request, book: Book) -> Answer:
    """Per tank first, the totals after; or the one thing that must be asked first."""
    slots = request.slots
    recipe, use = _recipe_and_use(slots, book)
    ratio = slots.get("ratio")
    if use is None and ratio is None:
        if recipe is not None and isinstance(slots.get("use"), Term):
            fact = NotForUse(_recipe(recipe), slots["use"], _uses(recipe))
            return Answer(
                question=Question(fact, request, "use", _use_options(recipe), listed=False)
            )
        known = recipe or book.recipes[USUAL_RECIPE]
        ask = Question(WhichUse(_uses(known)), request, "use", _use_options(known), listed=False)
        return Answer(question=ask)
    strength = (
        mixing.parts(ratio.culture_parts, ratio.water_parts)
        if ratio is not None
        else mixing.parts(1, use.water_parts if use else 0)
    )
    named = _named(recipe, use, ratio, strength)
    try:
        found = _amounts(request, book, strength, use, named)
    except mixing.AmountError:
        return Answer((Impossible(),))
    if recipe is None or use is None or not found.facts:
        return found
    warned, noted = care.caution("mix", book, recipe, use.name, _crop(slots))
    return Answer((*found.facts, *warned), noted, found.question)


def _amounts(
    request: Request, book: Book, strength: mixing.Strength, use: Use | None, named: Fact
) -> Answer:
    slots = request.slots
    tank_ml = _ml(slots["tank"]) if "tank" in slots else book.setting("tank_ml")
    asked: Question | None = None
    rate: tuple[Fact, ...] = ()
    if "tanks" in slots:
        if tank_ml is None:
            return Answer(question=Question(WhatTank(slots["tanks"]), request, "tank"))
        mix = mixing.mix_of_tanks(slots["tanks"].n, int(tank_ml), strength)
        return Answer(poured(mix, int(tank_ml), named))
    tank = int(tank_ml) if "tank" in slots or book.setting("tank_ml") else None
    if "plants" in slots or "area" in slots:
        asked, amount, each_ml = _spread(request, use)
        if asked is not None:
            return Answer(question=asked)
        mix = mixing.mix_for(amount, each_ml, strength, tank)
        said = _per(slots)
        rate = () if said is None else (AtRate(slots.get("plants") or slots["area"], said),)
    elif "culture" in slots:
        mix = mixing.mix_from_culture(_ml(slots["culture"]), strength, tank)
        return Answer((FromInHand(litres(mix.mix_ml)), *poured(mix, tank, named)))
    elif isinstance(slots.get("mix"), Span):
        ends = [mixing.mix_of(_ml(end), strength) for end in (slots["mix"].low, slots["mix"].high)]
        return Answer((*(one_mix(mix) for mix in ends), named))
    elif "mix" in slots:
        mix = mixing.mix_of(_ml(slots["mix"]), strength, tank)
    elif "tank" in slots:
        mix = mixing.mix_of_tanks(1, int(tank_ml or 0), strength)
    elif isinstance(named, ByRecipe):
        ask = HowMuch(named.recipe, named.use, named.ratio)
        return Answer(question=Question(ask, request, "mix"))
    else:
        return Answer((named,))
    return Answer((*poured(mix, tank, named), *rate))


def _spread(request: Request, use: Use | None) -> tuple[Question | None, Fraction, Fraction]:
    """What must be asked, or how many m² or plants, and the mL of mix for each."""
    slots = request.slots
    per = _per(slots)
    none = Fraction(0)
    if "plants" in slots:
        if per is None:
            ask = Question(HowMuchPerPlant(slots["plants"]), request, "per")
            return ask, none, none
        return None, Fraction(slots["plants"].n), _ml_exact(per.amount)
    area = settled(slots["area"])
    if per is None:
        one = Quantity(Decimal(1), slots["area"].unit)
        if use is not None and use.name == "leaf":
            hectares = settled(one).to("hectare").value
            low, high = (Quantity(each * hectares, "litre") for each in HECTARE_L)
            usual = Span(_whole(low), _whole(high))
            return (
                Question(HowMuchPerArea(slots["area"], one, usual), request, "per"),
                none,
                none,
            )
        return Question(HowMuchOnSoil(slots["area"], one), request, "per"), none, none
    each_m2 = (
        settled(per.each).to("square_metre").value if isinstance(per.each, Quantity) else Decimal(1)
    )
    m2 = Fraction(area.to("square_metre").value)
    return None, m2, _ml_exact(per.amount) / Fraction(each_m2)


def _per(slots: Mapping[str, Any]) -> Per | None:
    """The volume for each; a bare volume is for one of what was asked about."""
    per = slots.get("per")
    if not isinstance(per, Quantity):
        return per if isinstance(per, Per) else None
    if "plants" in slots:
        return Per(per, Count(Decimal(1), slots["plants"].noun))
    return Per(per, Quantity(Decimal(1), slots["area"].unit))


def _named(
    recipe: Recipe | None, use: Use | None, ratio: Ratio | None, strength: mixing.Strength
) -> Fact:
    shown = Ratio(strength.culture_parts, strength.water_parts)
    if ratio is not None or recipe is None or use is None:
        return ByRatio(shown, shown.culture_parts, shown.water_parts)
    if use.water_parts == 0:
        return ByRecipeAsItIs(_recipe(recipe), Term("use", use.name))
    return ByRecipe(_recipe(recipe), Term("use", use.name), shown)


def _recipe_and_use(slots: Mapping[str, Any], book: Book) -> tuple[Recipe | None, Use | None]:
    """The recipe that was named, else the usual one, and its use that was named."""
    recipe = book.recipe(slots.get("recipe"), USUAL_RECIPE)
    wanted = slots.get("use")
    if recipe is None or not isinstance(wanted, Term):
        # A drench by plants that says no use is a soil drench.
        use = recipe.use("soil") if recipe is not None and "plants" in slots else None
        return recipe, use
    return recipe, recipe.use(wanted.name)


def _uses(recipe: Recipe) -> tuple[Term, ...]:
    return tuple(Term("use", use.name) for use in recipe.uses)


def _use_options(recipe: Recipe) -> tuple[Option, ...]:
    return tuple(Option(term, term) for term in _uses(recipe))


def _recipe(recipe: Recipe) -> Term:
    return Term("recipe", recipe.kind)


def _crop(slots: Mapping[str, Any]) -> str:
    crop = slots.get("crop", "")
    return crop.name if isinstance(crop, Term) else str(crop)


def _whole(quantity: Quantity) -> Quantity:
    return Quantity(quantity.value.quantize(Decimal(1)), quantity.unit)


def _ml(quantity: Quantity) -> int:
    return int(settled(quantity).to("millilitre").value.to_integral_value())


def _ml_exact(quantity: Quantity) -> Fraction:
    return Fraction(settled(quantity).to("millilitre").value)
