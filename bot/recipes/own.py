"""A group's own recipes: changed or new, over the shipped ones; cautions are added, never lost."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from types import MappingProxyType
from typing import Any

from bot.craft.interval import SALTS, is_refused
from bot.craft.recipe import MANURES, SUGARS, Ingredient, Recipe, Role, Source, Use
from bot.recipes.reading import RecipeError, as_plain, recipe_from, recipe_of, shipped

OWN = Source("this group's own", "common practice, no source")

SETTING = "recipes"
"""The group's setting that holds its own recipes: kind -> the recipe in plain values."""


@dataclass(frozen=True, slots=True)
class Tweak:
    """What a message changes of a recipe; None is left as it is.

    `use` is the use that `water_parts`, `every_days` and `times` speak of; one the recipe has not
    is added with them. `feed_per_litre` is in the feed's own unit; `ingredient` with `per_litre`
    of `unit` is another thing that goes in, for each litre of the batch.
    """

    use: str | None = None
    water_parts: Decimal | None = None
    every_days: int | None = None
    times: int | None = None
    feed_per_litre: Decimal | None = None
    ingredient: str | None = None
    per_litre: Decimal | None = None
    unit: str = "gram"
    warm_days: int | None = None
    cool_days: int | None = None
    keep_back: Decimal | None = None
    shelf_days: int | None = None


def tweaked(base: Recipe, tweak: Tweak, kind: str = "", file: str = "message") -> Recipe:
    """The recipe with a change, as a group's own; under another `kind` a new one beside it.

    Raises:
        RecipeError: a figure is out of its range, or what is to change is not in the recipe.
    """
    sources = base.sources if OWN in base.sources else (*base.sources, OWN)
    recipe = replace(base, kind=kind or base.kind, sources=sources)
    warm = base.ready.warm_days if tweak.warm_days is None else tweak.warm_days
    cool = tweak.cool_days
    if cool is None:
        cool = max(warm, base.ready.cool_days) if tweak.warm_days is None else warm
    recipe = replace(recipe, ready=replace(base.ready, warm_days=warm, cool_days=cool))
    if tweak.keep_back is not None:
        recipe = replace(recipe, keep_back=tweak.keep_back)
    if tweak.shelf_days is not None:
        most = max(tweak.shelf_days, base.shelf_days_most)
        recipe = replace(recipe, shelf_days=tweak.shelf_days, shelf_days_most=most)
    if tweak.feed_per_litre is not None:
        recipe = replace(recipe, ingredients=_fed(base, tweak.feed_per_litre, file))
    if tweak.ingredient is not None and tweak.per_litre is not None:
        recipe = _with(recipe, tweak.ingredient, tweak.per_litre, tweak.unit, file)
    if tweak.use is not None:
        recipe = replace(recipe, uses=_used(base, tweak.use, tweak, file))
    return recipe_of(as_plain(recipe), file)


def together(
    shipped: Mapping[str, Recipe], own: Iterable[Mapping[str, object]], file: str = "record"
) -> Mapping[str, Recipe]:
    """Shipped recipes with a group's own over them.

    One that takes a shipped one's place keeps all its hazards, and stays a sugar-fed or manure
    recipe if that was one.

    Raises:
        RecipeError: one of the group's own cannot be read, or stands on a recipe nobody has.
    """
    return _over(shipped, ((file, recipe_of(_warned(plain, shipped), file)) for plain in own))


def of_group(known: Mapping[str, Recipe], settings: Mapping[str, Any]) -> Mapping[str, Recipe]:
    """The recipes one group goes by: what is known, with its own from its settings over them.

    One that no longer reads (written by another version) is left out, not an error: the group
    then goes by the known one.
    """
    own = settings.get(SETTING)
    if not own:
        return known
    found: Mapping[str, Recipe] = known
    for plain in own.values():
        try:
            found = together(found, [plain])
        except RecipeError:
            continue
    return found


def named(
    names: Mapping[str, tuple[str, ...]], known: Mapping[str, Recipe], settings: Mapping[str, Any]
) -> Mapping[str, tuple[str, ...]]:
    """What is a name in the group, with the recipes no word list knows: an operator's, its own."""
    kinds = (*known, *settings.get(SETTING, {}))
    called = tuple(spoken(kind) for kind in kinds if kind not in shipped())
    return {**names, "recipe": called} if called else names


def from_folder(known: Mapping[str, Recipe], folder: str) -> Mapping[str, Recipe]:
    """What is known with an operator's own recipes over it: every .toml of a folder.

    Raises:
        RecipeError: the folder is not there, or a file has a fault: file, field and mend.
    """
    home = Path(folder)
    if not home.is_dir():
        raise RecipeError(folder, "", "is no folder; make it, or unset STIRBELL_RECIPES")
    read: list[tuple[str, Recipe]] = []
    for path in sorted(home.glob("*.toml")):
        try:
            text = path.read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError) as fault:
            raise RecipeError(path.name, "", f"cannot be read as UTF-8 text: {fault}") from fault
        recipe = recipe_from(text, path.name)
        if recipe.kind != path.stem:
            raise RecipeError(path.name, "kind", f"must be '{path.stem}', as the file")
        read.append((path.name, recipe))
    return _over(known, read)


def key_of(name: str) -> str:
    """The key of a name as it was said: "Fish brew" is fish_brew; "" where nothing is left.

    >>> key_of(" Fish  brew! ")
    'fish_brew'
    """
    words = "".join(each if each.isprintable() and each not in _MARKS else " " for each in name)
    return "_".join(words.lower().split())


def spoken(kind: str) -> str:
    """A recipe's key as it is written in a message: fish_brew is "fish brew"."""
    return kind.replace("_", " ")


_MARKS = frozenset("!\"#$%&'()*+,-./:;<=>?@[\\]^_`{|}~।॥")


def _warned(plain: Mapping[str, object], known: Mapping[str, Recipe]) -> dict[str, object]:
    """A recipe's plain values with the cautions of the one whose place it takes, and why."""
    before, own = known.get(str(plain.get("kind"))), plain.get("hazards")
    if before is None or not isinstance(own, list | tuple):
        return dict(plain)
    return {
        **plain,
        "hazards": list(dict.fromkeys((*before.hazards, *own))),
        "sugar_fed": before.sugar_fed or plain.get("sugar_fed"),
        "animal_manure": before.animal_manure or plain.get("animal_manure"),
    }


def _over(known: Mapping[str, Recipe], own: Iterable[tuple[str, Recipe]]) -> Mapping[str, Recipe]:
    found = dict(known)
    named: dict[str, str] = {}
    for file, recipe in own:
        before = known.get(recipe.kind)
        kept = recipe
        if before is not None:
            kept = replace(
                recipe,
                hazards=tuple(dict.fromkeys((*before.hazards, *recipe.hazards))),
                sugar_fed=before.sugar_fed or recipe.sugar_fed,
                animal_manure=before.animal_manure or recipe.animal_manure,
            )
        found[recipe.kind] = kept
        named[recipe.kind] = file
    for kind, file in named.items():
        on = found[kind].on
        if on is not None and on not in found:
            field = f"{kind}: on" if file == "record" else "on"
            raise RecipeError(file, field, f"there is no recipe '{on}'")
    return MappingProxyType(found)


def _fed(base: Recipe, per_litre: Decimal, file: str) -> tuple[Ingredient, ...]:
    feeds = [each for each in base.ingredients if each.role == "feed" and each.unit != "part"]
    if not feeds:
        raise RecipeError(file, "ingredients", f"{base.kind} has no feed counted per litre")
    fed = replace(feeds[0], low=per_litre, high=per_litre)
    return tuple(fed if each is feeds[0] else each for each in base.ingredients)


def _with(recipe: Recipe, name: str, per_litre: Decimal, unit: str, file: str) -> Recipe:
    """The recipe with so much of a thing a litre: one it has is changed, another added.

    Dung, sugar and salts bring their caution along; scrap metal never goes in.
    """
    if is_refused(name):
        raise RecipeError(file, "ingredients", f"{name} never goes in; leave it out")
    if unit not in {"gram", "millilitre"}:
        raise RecipeError(file, "ingredients", "write grams or millilitres a litre")
    before = next((each for each in recipe.ingredients if each.name == name), None)
    if before is None:
        role: Role = "mineral" if name in SALTS.values() else "base"
        added = Ingredient(name, role, "gram" if unit == "gram" else "millilitre")
    elif before.unit == unit and before.per != "vessel":
        added = before
    else:
        added = replace(before, per="litre_of_batch", vessel_l=None, unit=before.unit)
        added = replace(added, unit="gram" if unit == "gram" else "millilitre")
    added = replace(added, low=per_litre, high=per_litre)
    kept = tuple(added if each is before else each for each in recipe.ingredients)
    manure = recipe.animal_manure or name in MANURES
    sugar = recipe.sugar_fed or name in SUGARS
    brought = [
        *(["manure_raw_eaten"] if manure else []),
        *(["sugar_fed_raw_eaten"] if sugar and not manure else []),
        *(["never_seal"] if sugar else []),
        *(["test_before_minerals"] if name in SALTS.values() else []),
    ]
    hazards = dict.fromkeys((*recipe.hazards, *brought))
    return replace(
        recipe,
        ingredients=kept if before is not None else (*kept, added),
        animal_manure=manure,
        sugar_fed=sugar,
        hazards=tuple(hazards),
    )


def _used(base: Recipe, name: str, tweak: Tweak, file: str) -> tuple[Use, ...]:
    before = base.use(name)
    if before is None and tweak.water_parts is None:
        raise RecipeError(file, "uses", f"write how many parts of water for {name}, as {name} 1:3")
    use = before or Use(name, Decimal(0))
    if tweak.water_parts is not None:
        use = replace(use, water_parts=tweak.water_parts, strongest=None, weakest=None)
    if tweak.every_days is not None:
        use = replace(use, every_days=tweak.every_days, every_days_most=None)
    if tweak.times is not None:
        use = replace(use, times=tweak.times)
    if before is None:
        return (*base.uses, use)
    return tuple(use if each is before else each for each in base.uses)
