"""Cautions: data tied to recipe, use, crop, hour and first time; one short one, or all of them.

A caution is a key; each catalogue has its words, `caution.<key>` and `caution.<key>.short`. A
group may add its own; none of these can be taken away or made weaker.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import time

from bot.craft.crops import crop_of
from bot.craft.recipe import Recipe

HOT_FROM, HOT_UNTIL = time(10), time(16)
"""The hours in which leaves are not sprayed. Source: common practice, no source."""

EVERY_MOMENT = frozenset(
    {"start", "stir", "look", "draw", "mix", "seed", "spray", "finish", "brew"}
)


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution and when it belongs: an empty condition fits everything.

    `moments` are what the member is doing; `uses` what the culture is for. With `hazard` the
    recipe must name it. `raw`: only on crops eaten raw; `hot`: only in the hot hours; `first`:
    only the first time in this group for this recipe, use or crop. A higher `weight` is said
    first. `only_why`: never by itself, only when someone asks why. `figures` are what its words
    may quote.
    """

    key: str
    moments: frozenset[str]
    weight: int
    source: str
    mark: str
    uses: frozenset[str] = frozenset()
    hazard: bool = True
    raw: bool = False
    hot: bool = False
    first: bool = False
    only_why: bool = False


@dataclass(frozen=True, slots=True)
class Added:
    """A caution of a group's own, in its own words, at some moments (empty: at every one)."""

    key: str
    text: str
    moments: frozenset[str] = frozenset()
    weight: int = 50


@dataclass(frozen=True, slots=True)
class Situation:
    """What a caution is chosen by. `crop` is a crop's key, `at` the member's wall time."""

    moment: str
    recipe: Recipe | None = None
    use: str = ""
    crop: str = ""
    at: time | None = None
    first: bool = False


def _at(moments: str) -> frozenset[str]:
    return frozenset(moments.split())


_CUSTOM = ("common practice, no source", "common practice, no source")
_LEAF = frozenset({"leaf"})

CAUTIONS: tuple[Caution, ...] = (
    # --- what can kill or maim ----------------------------------------------------------------
    Caution(
        "never_seal", _at("start brew finish"), 95, "ideal gas, Henry; evidence A5", "computed"
    ),
    Caution("no_scrap_metal", _at("start brew"), 99, "Recknagel 2014, Waste Mgmt 34:156", "seen"),
    Caution("closed_room_gas", _at("start stir"), 90, "NIOSH pel88 124-38: CO2 5000 ppm", "seen"),
    Caution("not_drinking", _at("start draw mix"), 85, "US EPA label first aid wording", "seen"),
    Caution(
        "children_animals", _at("start stir look"), 84, "Rahman 2009, Inj Prev 15:75", "quoted"
    ),
    Caution(
        "no_flame_metal", _at("brew"), 83, "acid on zinc or iron gives hydrogen", "from memory"
    ),
    Caution("sheep_copper", _at("brew finish"), 60, "Borobia 2022, Animals 12:2388", "seen"),
    # --- what is eaten ------------------------------------------------------------------------
    Caution(
        "sugar_fed_raw_eaten",
        _at("mix spray"),
        92,
        "7 CFR 205.203(c)(1); 21 CFR 112.51, 112.56",
        "seen",
        uses=_LEAF,
        raw=True,
    ),
    Caution(
        "manure_raw_eaten",
        _at("mix spray draw"),
        93,
        "7 CFR 205.203(c)(1)",
        "seen",
        raw=True,
    ),
    # --- the barrel ---------------------------------------------------------------------------
    Caution("starter_bare_hands", _at("start"), 70, *_CUSTOM),
    Caution("mosquitoes", _at("start stir"), 55, "CDC; Isoe 1995", "seen"),
    Caution("clean_water", _at("start"), 50, "21 CFR 112.44(a), digest", "quoted"),
    Caution("chlorinated_water", _at("start"), 40, "Pennsylvania DEP, compost tea", "seen"),
    Caution("test_before_minerals", _at("brew"), 75, "7 CFR 205.601(j), certifier's note", "seen"),
    Caution("spoilt_far_from_wells", _at("look finish"), 65, *_CUSTOM),
    Caution("gloves_manure", _at("start stir draw"), 72, *_CUSTOM),
    # --- mixing and spraying ------------------------------------------------------------------
    Caution("eyes_skin", _at("draw mix spray stir"), 58, "FAO 2001; WHO", "from memory"),
    Caution(
        "no_copper_lime",
        _at("mix spray"),
        68,
        "Indian Phytopathology: Bordeaux stops Trichoderma",
        "seen",
    ),
    Caution(
        "five_plants_first",
        _at("mix spray"),
        66,
        *_CUSTOM,
        hazard=False,
        first=True,
    ),
    Caution(
        "borrowed_sprayer",
        _at("mix spray"),
        64,
        "Purdue PPP-108",
        "quoted",
        uses=_LEAF,
        hazard=False,
        first=True,
    ),
    Caution("hot_hours", _at("mix spray"), 63, *_CUSTOM, uses=_LEAF, hazard=False, hot=True),
    Caution(
        "wind",
        _at("mix spray"),
        56,
        "Defra, Avoiding Drift; Victoria wind guide",
        "seen",
        uses=_LEAF,
        hazard=False,
    ),
    Caution(
        "open_flowers",
        _at("mix spray"),
        54,
        "Canada pollinator practice",
        "seen",
        uses=_LEAF,
        hazard=False,
    ),
    Caution("rain_soon", _at("spray"), 48, *_CUSTOM, uses=_LEAF, hazard=False),
    Caution("dry_leaves", _at("spray"), 42, *_CUSTOM, uses=_LEAF, hazard=False),
    Caution("strain_first", _at("mix"), 41, *_CUSTOM, uses=_LEAF, hazard=False),
    # --- seed ---------------------------------------------------------------------------------
    Caution(
        "coloured_seed",
        _at("seed"),
        80,
        "extension teaching",
        "quoted",
        hazard=False,
    ),
    Caution("culture_last", _at("seed"), 62, "extension teaching", "quoted", hazard=False),
    # --- only when asked why ------------------------------------------------------------------
    Caution(
        "inversion",
        _at("spray mix"),
        20,
        "GRDC Spray Application Manual 10.8, 2025",
        "seen",
        uses=_LEAF,
        hazard=False,
        only_why=True,
    ),
    Caution(
        "re_entry",
        _at("spray mix"),
        19,
        "US Worker Protection Standard, 4 h",
        "from memory",
        uses=_LEAF,
        hazard=False,
        only_why=True,
    ),
    # --- always true --------------------------------------------------------------------------
    Caution("local_rules", EVERY_MOMENT, 10, *_CUSTOM, hazard=False),
)

KEYS = frozenset(each.key for each in CAUTIONS)


class WeakenedError(ValueError):
    """A group's caution would take the place of one that is always there."""


def added(shipped: Sequence[Added], new: Added) -> tuple[Added, ...]:
    """A group's own cautions with one more; one of the same key replaces the group's own only.

    Raises:
        WeakenedError: its key is one of the cautions that are always there, or it says nothing.
    """
    if new.key in KEYS:
        raise WeakenedError(f"{new.key} is always there; a group can only add to it")
    if not new.text.strip():
        raise WeakenedError("a caution says something")
    return (*(each for each in shipped if each.key != new.key), new)


def fitting(
    situation: Situation, group: Iterable[Added] = (), *, why: bool = False
) -> tuple[Caution | Added, ...]:
    """Every caution that belongs to a situation, the weightiest first; some only under `why`."""
    own = [each for each in group if not each.moments or situation.moment in each.moments]
    found: list[Caution | Added] = [
        each for each in CAUTIONS if _fits(each, situation) and (why or not each.only_why)
    ]
    return tuple(sorted([*found, *own], key=lambda each: -each.weight))


def one(
    situation: Situation, group: Iterable[Added] = (), told: Sequence[str] = ()
) -> Caution | Added | None:
    """The one caution to say now: the weightiest that was not said lately.

    `told` are the keys said lately, newest last. What can kill (weight 90 and above) and was not
    the very last thing said comes again; else the weightiest not in `told`, else the one said
    longest ago. None where nothing fits.
    """
    found = [each for each in fitting(situation, group) if each.key != "local_rules"]
    if not found:
        return None
    gravest = found[0]
    if gravest.weight >= 90 and (not told or told[-1] != gravest.key):
        return gravest
    fresh = [each for each in found if each.key not in told]
    if fresh:
        return fresh[0]
    last_said = {key: place for place, key in enumerate(told)}
    return min(found, key=lambda each: last_said[each.key])


def _fits(each: Caution, now: Situation) -> bool:
    if now.moment not in each.moments or (each.uses and now.use not in each.uses):
        return False
    if each.hazard and (now.recipe is None or each.key not in now.recipe.hazards):
        return False
    if each.raw and now.crop and not crop_of(now.crop).raw:
        return False
    if each.hot and (now.at is None or not HOT_FROM <= now.at < HOT_UNTIL):
        return False
    return now.first or not each.first
