"""Days between a ferment and the harvest of what is eaten raw, by the rule a group chose.

The bot never says that time makes a ferment fit to eat: it counts days of a published rule, and
local rules decide.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bot.craft.crops import Crop
from bot.craft.recipe import Recipe

Rule = Literal["raw_manure_days", "us_tea", "local"]
"""raw_manure_days: 120 days where the eaten part touches soil, else 90. us_tea: the strict
reading, never on what is eaten. local: days of the group's own certifying or local body."""

SOIL_DAYS, CLEAR_DAYS = 120, 90
"""Source: 7 CFR 205.203(c)(1)(i-iii)."""


@dataclass(frozen=True, slots=True)
class Interval:
    """What a rule asks: days before harvest; whether it may touch what is eaten at all.

    `soil_only`: pour it on the soil and keep it off the eaten part, as picking goes on for weeks
    or the rule forbids it on the part. `reason` is a key of the catalogues.
    """

    days: int
    may_touch: bool
    soil_only: bool
    reason: str
    source: str


NONE = Interval(0, may_touch=True, soil_only=False, reason="no_interval", source="")


def interval(
    recipe: Recipe,
    crop: Crop,
    use: str,
    rule: Rule | None = None,
    local_days: int | None = None,
) -> Interval:
    """What the chosen rule asks of this ferment on this crop.

    It asks nothing for food nobody eats raw, nor for seed. As long as no rule is chosen, a ferment
    with manure is held to `raw_manure_days`, and one fed with sugar only is left to the caution
    (reason `choose_rule`). A local rule without its days counts as `raw_manure_days`.

    >>> from bot.craft.crops import crop_of
    >>> from bot.craft.recipe import Ready
    >>> brew = Recipe("brew", (), (), Ready(10, 10, (), ()), (), (), "cloth", 9, 9, True, False)
    >>> interval(brew, crop_of("carrot"), "soil", "raw_manure_days").days
    120
    >>> interval(brew, crop_of("tomato"), "leaf", "raw_manure_days").days
    90
    """
    concerned = recipe.sugar_fed or recipe.animal_manure
    if not concerned or not crop.food or not crop.raw or use == "seed":
        return NONE
    if rule is None and not recipe.animal_manure:
        return Interval(
            days=0,
            may_touch=True,
            soil_only=crop.weeks,
            reason="choose_rule",
            source="the group's own choice",
        )
    if rule == "us_tea":
        return Interval(
            days=0,
            may_touch=False,
            soil_only=True,
            reason="us_tea_untreated",
            source="21 CFR 112.51(b), 112.56(a)(1)",
        )
    if rule == "local" and local_days is not None:
        return Interval(
            days=local_days,
            may_touch=True,
            soil_only=crop.weeks and local_days > 0,
            reason="local_rule",
            source="the group's own local body",
        )
    return Interval(
        days=SOIL_DAYS if crop.soil else CLEAR_DAYS,
        may_touch=True,
        soil_only=crop.weeks,
        reason="touches_soil" if crop.soil else "clear_of_soil",
        source="7 CFR 205.203(c)(1)",
    )


# --- what a brew's minerals may come from -----------------------------------------------------

REFUSED_METALS: frozenset[str] = frozenset(
    {"dry_cell", "battery", "brass", "solder", "galvanised_scrap", "painted_metal", "lead"}
)
"""Never a source of minerals. Source: Recknagel, Radant & Kohlmeyer 2014, Waste Mgmt 34:156 (dry
cells hold mercury, cadmium, lead; seen); brass, solder, galvanising: lead, from memory."""

SALTS: dict[str, str] = {
    "iron": "iron_sulphate",
    "copper": "copper_sulphate",
    "zinc": "zinc_sulphate",
    "boron": "borax",
    "manganese": "manganese_sulphate",
    "magnesium": "magnesium_sulphate",
}
"""The salt that is named for an element. Its amount is given only after a tested deficiency.

Source: certifier's note on 7 CFR 205.601(j), seen."""


def is_refused(source: str) -> bool:
    """Whether a proposed mineral source is refused outright.

    >>> is_refused("dry_cell"), is_refused("zinc_sulphate")
    (True, False)
    """
    return source in REFUSED_METALS
