"""What a recipe is: figures, where they come from, and keys of words; no sentence of any language.

Every name here (`kind`, an ingredient, a sign, a use, a hazard) is a key that each catalogue has
words for. Ranges hold both ends; where sources agree the ends are equal.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

Mark = Literal["seen", "quoted", "from memory", "computed", "common practice, no source"]
"""How sure a figure is: seen at its source, seen quoted, remembered, computed, or only custom."""

Unit = Literal["gram", "millilitre", "pack", "part"]

PerWhat = Literal["litre_of_water_added", "litre_of_batch", "vessel", "weight", "volume"]
"""What an ingredient is counted by. Water added leaves out what was kept back; parts are of the
whole by weight or by volume."""

Role = Literal["feed", "starter", "base", "inoculum", "oilseed", "pulse", "mineral"]

LONGEST_DAYS = 400

MANURES = frozenset({"fresh_cow_dung", "cow_urine", "manure", "dung", "urine", "poultry_manure"})
"""What makes a recipe one of animal manure, whatever it says of itself."""

SUGARS = frozenset({"unrefined_sugar", "sugar", "jaggery", "molasses", "honey"})
"""What makes a recipe a sugar-fed one, whatever it says of itself."""


@dataclass(frozen=True, slots=True)
class Source:
    """Where a recipe's figures come from, and how sure they are."""

    text: str
    mark: Mark


@dataclass(frozen=True, slots=True)
class Ingredient:
    """One thing that goes in: so much of it `per` litre or vessel.

    `kinds` is how many different ones of it are wanted (three oilseeds), each in that amount.
    Without `low` and `high` no amount is given, on purpose: a mineral is dosed after a test only.
    `vessel_l` is the largest vessel that one dose per vessel is meant for.
    """

    name: str
    role: Role
    unit: Unit = "gram"
    per: PerWhat = "litre_of_batch"
    low: Decimal | None = None
    high: Decimal | None = None
    kinds: int = 1
    vessel_l: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Ready:
    """The days after its start on which a batch is ready: from where it is warm to where cool.

    `signs` are what ripeness looks and smells like, `spoilt` what says throw it out.
    """

    warm_days: int
    cool_days: int
    signs: tuple[str, ...]
    spoilt: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Use:
    """One use with its strength and interval: 1 part of the culture + `water_parts` of water.

    `water_parts` 0 is undiluted. `strongest` and `weakest` are the ends of what sources print, in
    parts of water. `times` is how often in one crop; `minutes` how long seed lies in shade.
    `ml_per_m2` are the ends of the usual volume of mix.
    """

    name: str
    water_parts: Decimal
    strongest: Decimal | None = None
    weakest: Decimal | None = None
    every_days: int | None = None
    every_days_most: int | None = None
    times: int | None = None
    minutes: int | None = None
    ml_per_m2: tuple[Decimal, Decimal] | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Recipe:
    """One kind of culture, brew, extract or heap.

    `on` is the recipe whose ready culture it is made with in place of water, if any. `keep_back`
    is the share of the vessel that starts the next one. `stir_every_days` None means that it is
    not stirred. `watered` is false where no water goes in at all. `generations` is how often a
    line is carried on before a fresh starter is advised. `sugar_fed` and `animal_manure` choose
    the interval to harvest.
    """

    kind: str
    sources: tuple[Source, ...]
    ingredients: tuple[Ingredient, ...]
    ready: Ready
    uses: tuple[Use, ...]
    hazards: tuple[str, ...]
    cover: str
    shelf_days: int
    shelf_days_most: int
    sugar_fed: bool
    animal_manure: bool
    on: str | None = None
    watered: bool = True
    stir_every_days: int | None = None
    keep_back: Decimal | None = None
    generations: int | None = None
    steps: tuple[str, ...] = ()

    def use(self, name: str) -> Use | None:
        """The use of that name, or nothing if the recipe has none."""
        return next((use for use in self.uses if use.name == name), None)


def faults(recipe: Recipe) -> tuple[tuple[str, str], ...]:
    """Everything that cannot be in a recipe: its field, and what to put there.

    Types are right already; this looks at ranges, dimensions and what must not be missing.
    """
    found: list[tuple[str, str]] = []

    def must(good: bool, field: str, mend: str) -> None:
        if not good:
            found.append((field, mend))

    must(bool(recipe.sources), "sources", "name at least one source, or custom as its mark")
    must(bool(recipe.ready.signs), "ready.signs", "name at least one sign of ripeness")
    must(bool(recipe.ready.spoilt), "ready.spoilt", "name at least one sign of a spoilt batch")
    must(bool(recipe.hazards), "hazards", "name at least one caution")
    must(bool(recipe.uses), "uses", "name at least one use")
    for concerned, hazard, what in (
        (recipe.animal_manure, "manure_raw_eaten", "manure in it"),
        (recipe.sugar_fed and not recipe.animal_manure, "sugar_fed_raw_eaten", "sugar in it"),
    ):
        must(not concerned or hazard in recipe.hazards, "hazards", f"add '{hazard}': {what}")
    for each in recipe.ingredients:
        must(
            each.name not in MANURES or recipe.animal_manure,
            "animal_manure",
            f"write true: {each.name} goes in",
        )
        must(
            each.name not in SUGARS or recipe.sugar_fed,
            "sugar_fed",
            f"write true: {each.name} goes in",
        )
    for concerned, hazard, what in (
        (recipe.sugar_fed, "never_seal", "what is fed sugar makes gas"),
        (recipe.watered, "not_drinking", "it is a liquid"),
        (recipe.watered, "eyes_skin", "it is a liquid"),
    ):
        must(not concerned or hazard in recipe.hazards, "hazards", f"add '{hazard}': {what}")
    days = recipe.ready
    must(0 <= days.warm_days <= LONGEST_DAYS, "ready.warm_days", f"write 0 to {LONGEST_DAYS} days")
    must(
        days.warm_days <= days.cool_days <= LONGEST_DAYS,
        "ready.cool_days",
        f"write {days.warm_days} (its warm_days) to {LONGEST_DAYS} days",
    )
    must(
        0 <= recipe.shelf_days <= recipe.shelf_days_most <= LONGEST_DAYS,
        "shelf_days",
        f"write days from 0, at most shelf_days_most, at most {LONGEST_DAYS}",
    )
    stir = recipe.stir_every_days
    must(stir is None or 1 <= stir <= 30, "stir_every_days", "write 1 to 30 days, or leave it out")
    keep = recipe.keep_back
    must(
        keep is None or Decimal("0.01") <= keep <= Decimal("0.5"),
        "keep_back",
        "write a share from 0.01 to 0.5 (a tenth is 0.1), or leave it out",
    )
    generations = recipe.generations
    must(
        generations is None or 1 <= generations <= 100,
        "generations",
        "write 1 to 100 times, or leave it out",
    )
    for place, each in enumerate(recipe.ingredients):
        found.extend(_ingredient_faults(each, f"ingredients[{place}]"))
    for place, use in enumerate(recipe.uses):
        found.extend(_use_faults(use, f"uses[{place}]"))
    for field, names in (
        ("ingredients", [each.name for each in recipe.ingredients]),
        ("uses", [use.name for use in recipe.uses]),
    ):
        must(len(set(names)) == len(names), field, "name each only once")
    return tuple(found)


_MOST: dict[Unit, int] = {"gram": 2000, "millilitre": 1000, "pack": 10, "part": 100}
_UNITS: dict[PerWhat, tuple[Unit, ...]] = {
    "litre_of_water_added": ("gram", "millilitre"),
    "litre_of_batch": ("gram", "millilitre"),
    "vessel": ("pack", "gram", "millilitre"),
    "weight": ("part",),
    "volume": ("part",),
}


def _ingredient_faults(each: Ingredient, field: str) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    if each.low is None or each.high is None:
        if each.low != each.high:
            found.append((f"{field}.low", "write both low and high, or neither"))
        elif each.role != "mineral":
            found.append((f"{field}.low", "write an amount; only a mineral goes without"))
    else:
        most = _MOST[each.unit] * (1000 if each.per == "vessel" else 1)
        if not 0 < each.low <= each.high <= most:
            found.append((f"{field}.low", f"write 0 < low <= high <= {most} {each.unit}"))
    if each.unit not in _UNITS[each.per]:
        units = " or ".join(_UNITS[each.per])
        found.append((f"{field}.unit", f"per {each.per} it is counted in {units}"))
    if (each.vessel_l is None) == (each.per == "vessel"):
        found.append((f"{field}.vessel_l", "write the largest vessel for an amount per vessel"))
    elif each.vessel_l is not None and not 1 <= each.vessel_l <= 10_000:
        found.append((f"{field}.vessel_l", "write 1 to 10000 litres"))
    if not 1 <= each.kinds <= 20:
        found.append((f"{field}.kinds", "write 1 to 20"))
    return found


def _use_faults(use: Use, field: str) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    strongest = use.water_parts if use.strongest is None else use.strongest
    weakest = use.water_parts if use.weakest is None else use.weakest
    if not 0 <= strongest <= use.water_parts <= weakest <= 10_000:
        found.append(
            (f"{field}.water_parts", "write 0 <= strongest <= water_parts <= weakest <= 10000")
        )
    for name, low, high in (
        ("every_days", use.every_days, use.every_days_most),
        ("times", use.times, None),
        ("minutes", use.minutes, None),
    ):
        if high is not None and low is None:
            found.append((f"{field}.{name}", f"write {name} beside {name}_most"))
        elif low is not None and not 1 <= low <= (low if high is None else high) <= 1440:
            found.append((f"{field}.{name}", "write 1 to 1440, the lower end first"))
    if use.ml_per_m2 is not None:
        low_ml, high_ml = use.ml_per_m2
        if not 0 < low_ml <= high_ml <= 100_000:
            found.append((f"{field}.ml_per_m2", "write 0 < low <= high <= 100000"))
    return found
