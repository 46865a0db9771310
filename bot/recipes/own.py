"""A group's own recipes: changed or new, over the shipped ones; cautions are added, never lost."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from types import MappingProxyType

from bot.craft.recipe import Ingredient, Recipe, Source, Use
from bot.recipes.reading import RecipeError, as_plain, recipe_of

OWN = Source("this group's own", "common practice, no source")


@dataclass(frozen=True, slots=True)
class Tweak:
    """What a message changes of a recipe; None is left as it is.

    `use` is the use that `water_parts`, `every_days` and `times` speak of; one the recipe has not
    is added with them. `feed_per_litre` is in the feed's own unit.
    """

    use: str | None = None
    water_parts: Decimal | None = None
    every_days: int | None = None
    times: int | None = None
    feed_per_litre: Decimal | None = None
    warm_days: int | None = None
    cool_days: int | None = None
    keep_back: Decimal | None = None
    shelf_days: int | None = None


def tweaked(base: Recipe, tweak: Tweak, kind: str = "", file: str = "message") -> Recipe:
    """The recipe with a change, as a group's own; under another `kind` a new one beside it.

    Raises:
        RecipeError: a figure is out of its range, or what is to change is not in the recipe.
    """
    recipe = replace(base, kind=kind or base.kind, sources=(*base.sources, OWN))
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
    found = dict(shipped)
    for plain in own:
        recipe = recipe_of(dict(plain), file)
        before = shipped.get(recipe.kind)
        if before is not None:
            recipe = replace(
                recipe,
                hazards=tuple(dict.fromkeys((*before.hazards, *recipe.hazards))),
                sugar_fed=before.sugar_fed or recipe.sugar_fed,
                animal_manure=before.animal_manure or recipe.animal_manure,
            )
        found[recipe.kind] = recipe
    for recipe in found.values():
        if recipe.on is not None and recipe.on not in found:
            raise RecipeError(file, f"{recipe.kind}: on", f"there is no recipe '{recipe.on}'")
    return MappingProxyType(found)


def _fed(base: Recipe, per_litre: Decimal, file: str) -> tuple[Ingredient, ...]:
    feeds = [each for each in base.ingredients if each.role == "feed" and each.unit != "part"]
    if not feeds:
        raise RecipeError(file, "ingredients", f"{base.kind} has no feed counted per litre")
    fed = replace(feeds[0], low=per_litre, high=per_litre)
    return tuple(fed if each is feeds[0] else each for each in base.ingredients)


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
