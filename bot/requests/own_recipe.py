"""A group's own recipes by message: one more like a known one, or another figure in one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any, ClassVar

from bot.care import Cautioned
from bot.craft.interval import SALTS, is_refused
from bot.craft.permits import permitted
from bot.craft.recipe import LONGEST_DAYS, Recipe
from bot.craft.units import Quantity, measures, settled
from bot.facts import Count, Duration, Every, Fact, Option, Per, Question, Ratio, Request, Term
from bot.recipes.own import SETTING, Tweak, key_of, tweaked
from bot.recipes.reading import RecipeError, as_plain, is_key
from bot.records.book import Answer, Book
from bot.records.changes import GroupSet

KIND = "own_recipe"

MOST_OWN = 30
"""More own recipes than this a group does not keep. Ours, no source."""

_DAYS = {"day": 1, "week": 7, "month": 30}


@dataclass(frozen=True, slots=True)
class Strength(Fact):
    """The strength of one use from now on, both parts said."""

    words: ClassVar[str] = "own-recipe.strength"
    recipe: Term
    use: Term
    ratio: Ratio
    culture_parts: Decimal
    water_parts: Decimal


@dataclass(frozen=True, slots=True)
class Interval(Fact):
    """How often one use is repeated from now on."""

    words: ClassVar[str] = "own-recipe.interval"
    recipe: Term
    use: Term
    every: Every


@dataclass(frozen=True, slots=True)
class Times(Fact):
    """How often in one crop from now on."""

    words: ClassVar[str] = "own-recipe.times"
    plural: ClassVar[str] = "times"
    recipe: Term
    use: Term
    times: int


@dataclass(frozen=True, slots=True)
class Goes(Fact):
    """How much of a thing goes into each litre from now on."""

    words: ClassVar[str] = "own-recipe.goes-in"
    recipe: Term
    ingredient: Term
    amount: Quantity


@dataclass(frozen=True, slots=True)
class ReadyAfter(Fact):
    """After how many days it is looked at from now on."""

    words: ClassVar[str] = "own-recipe.ready"
    recipe: Term
    days: Count


@dataclass(frozen=True, slots=True)
class KeepsFor(Fact):
    """How long it is at its best from now on."""

    words: ClassVar[str] = "own-recipe.keeps"
    recipe: Term
    days: Count


@dataclass(frozen=True, slots=True)
class KeptBack(Fact):
    """The share that is kept back for the next from now on."""

    words: ClassVar[str] = "own-recipe.keep-back"
    recipe: Term
    percent: Decimal


@dataclass(frozen=True, slots=True)
class OneMore(Fact):
    """A new recipe of the group, so far just like another; what to change it with."""

    words: ClassVar[str] = "own-recipe.added"
    recipe: Term
    base: Term


@dataclass(frozen=True, slots=True)
class CautionsStay(Fact):
    """It is the group's own now; every caution stays."""

    words: ClassVar[str] = "own-recipe.cautions-stay"


@dataclass(frozen=True, slots=True)
class LikeWhich(Fact):
    """Asks which known recipe a new one is like."""

    words: ClassVar[str] = "own-recipe.like-which"
    widest: ClassVar[dict[str, Any]] = {"name": "w" * 40}
    name: str


@dataclass(frozen=True, slots=True)
class ForWhichUse(Fact):
    """Asks which use the strength or the interval is for."""

    words: ClassVar[str] = "own-recipe.which-use"
    recipe: Term


@dataclass(frozen=True, slots=True)
class WhichOne(Fact):
    """Asks which recipe is meant."""

    words: ClassVar[str] = "own-recipe.which-recipe"


@dataclass(frozen=True, slots=True)
class NothingSaid(Fact):
    """Nothing to change was said; what can be, by examples."""

    words: ClassVar[str] = "own-recipe.nothing"


@dataclass(frozen=True, slots=True)
class CannotBe(Fact):
    """A figure out of its range: which, and what it can be."""

    words: ClassVar[str] = "own-recipe.cannot"
    figure: Term


@dataclass(frozen=True, slots=True)
class NameTaken(Fact):
    """A recipe of that name is known; how to change it, or to take another name."""

    words: ClassVar[str] = "own-recipe.name-taken"
    recipe: Term


@dataclass(frozen=True, slots=True)
class NoName(Fact):
    """A name that cannot be one; what one is."""

    words: ClassVar[str] = "own-recipe.no-name"


@dataclass(frozen=True, slots=True)
class NeverIn(Fact):
    """Scrap metal never goes into a brew; what to use instead."""

    words: ClassVar[str] = "own-recipe.never-in"


@dataclass(frozen=True, slots=True)
class KeepersOnly(Fact):
    """Only a keeper of the group changes its recipes."""

    words: ClassVar[str] = "own-recipe.keepers-only"


def answer(request: Request, book: Book) -> Answer:
    """The recipe as it stands from now on, for the whole group; or what is missing or cannot be."""
    keeper = any(each.id == book.member.id for each in book.members("keeper"))
    if not permitted("recipe", ["keeper" if keeper else "member"], own=False):
        return Answer((KeepersOnly(),))
    slots = request.slots
    if "called" in slots or "action" in slots:
        return _added(request, book)
    recipe = book.recipe(slots.get("name"), "")
    if recipe is None:
        options = tuple(Option(Term("recipe", kind), Term("recipe", kind)) for kind in book.recipes)
        return Answer(question=Question(WhichOne(), request, "name", options))
    return _changed(recipe, request, book)


def _added(request: Request, book: Book) -> Answer:
    slots = request.slots
    name = key_of(str(slots.get("called", "")))
    if not is_key(name):
        return Answer((NoName(),))
    if name in book.recipes:
        return Answer((NameTaken(Term("recipe", name)),))
    base = book.recipe(slots.get("base"), "")
    if base is None:
        options = tuple(Option(Term("recipe", kind), Term("recipe", kind)) for kind in book.recipes)
        return Answer(question=Question(LikeWhich(str(slots["called"])), request, "base", options))
    if len(book.group.settings.get(SETTING, {})) >= MOST_OWN:
        return Answer((NoName(),))
    try:
        recipe = tweaked(base, Tweak(), name)
    except RecipeError:
        return Answer((NoName(),))
    said = OneMore(Term("recipe", name), Term("recipe", base.kind))
    return Answer((said, CautionsStay()), (_kept(recipe, book),))


def _changed(recipe: Recipe, request: Request, book: Book) -> Answer:
    """Every figure that was said, in one change: all of them, or none with what cannot be."""
    slots = request.slots
    use = slots.get("use")
    if slots.keys() & {"ratio", "every", "times"} and not isinstance(use, Term):
        options = tuple(
            Option(Term("use", each.name), Term("use", each.name)) for each in recipe.uses
        )
        ask = ForWhichUse(Term("recipe", recipe.kind))
        return Answer(question=Question(ask, request, "use", options))
    if _is_refused(slots):
        return Answer((NeverIn(),))
    said: list[Fact] = []
    before = recipe
    for read in (_use, _portion, _ready, _shelf, _share):
        found = read(recipe, slots, book)
        if found is None:
            continue
        tweak, facts, figure = found
        try:
            recipe = tweaked(recipe, tweak)
        except RecipeError:
            return Answer((CannotBe(Term("figure", figure)),))
        said += facts
    if not said:
        return Answer((NothingSaid(),))
    return Answer((*said, *_warned(before, recipe)), (_kept(recipe, book),))


def _warned(before: Recipe, recipe: Recipe) -> tuple[Fact, ...]:
    """The cautions a change brings along; that all stay, where it brings none.

    Stronger than before is tried on five plants; a salt is for a tested deficiency only.
    """
    keys = [each for each in recipe.hazards if each not in before.hazards]
    had = {each.name for each in before.ingredients}
    if any(each.name in SALTS.values() and each.name not in had for each in recipe.ingredients):
        keys.append("test_before_minerals")
    for use in recipe.uses:
        known = before.use(use.name)
        if known is None or use.water_parts < known.water_parts:
            keys.append("five_plants_first")
    return tuple(Cautioned(Term("caution", key)) for key in dict.fromkeys(keys)) or (
        CautionsStay(),
    )


Found = tuple[Tweak, tuple[Fact, ...], str]


def _use(recipe: Recipe, slots: Mapping[str, Any], _book: Book) -> Found | None:
    use = slots.get("use")
    said = slots.keys() & {"ratio", "every", "times"}
    if not said or not isinstance(use, Term):
        return None
    term = Term("recipe", recipe.kind)
    facts: list[Fact] = []
    parts: Decimal | None = None
    if "ratio" in slots:
        ratio: Ratio = slots["ratio"]
        parts = (ratio.water_parts / ratio.culture_parts).quantize(Decimal("0.001")).normalize()
        parts = parts.quantize(Decimal(1)) if parts == parts.to_integral_value() else parts
        facts.append(Strength(term, use, Ratio(Decimal(1), parts), Decimal(1), parts))
    every = times = None
    if "every" in slots:
        every = slots["every"].days
        facts.append(Interval(term, use, Every(every, "day")))
    if "times" in slots:
        times = int(slots["times"].n if isinstance(slots["times"], Count) else slots["times"])
        facts.append(Times(term, use, times))
    figure = "strength" if "ratio" in slots else "interval"
    tweak = Tweak(use=use.name, water_parts=parts, every_days=every, times=times)
    return tweak, tuple(facts), figure


def _portion(recipe: Recipe, slots: Mapping[str, Any], _book: Book) -> Found | None:
    per = slots.get("per")
    thing = slots.get("ingredient", slots.get("thing"))
    if thing is None or not isinstance(per, Per) or not isinstance(per.each, Quantity):
        return None
    name = thing.name if isinstance(thing, Term) else key_of(str(thing))
    unit = "gram" if measures(per.amount.unit) == "mass" else "millilitre"
    try:
        over_l = settled(per.each).to("litre").value
        amount = settled(per.amount).to(unit).value / over_l
    except ValueError:
        return Tweak(ingredient=name, per_litre=Decimal(0)), (), "amount"
    amount = amount.quantize(Decimal("0.01"))
    feed = next((each for each in recipe.ingredients if each.role == "feed"), None)
    goes = Goes(Term("recipe", recipe.kind), Term("ingredient", name), Quantity(amount, unit))
    if feed is not None and feed.name == name and feed.unit == unit:
        return Tweak(feed_per_litre=amount), (goes,), "amount"
    return Tweak(ingredient=name, per_litre=amount, unit=unit), (goes,), "amount"


def _ready(recipe: Recipe, slots: Mapping[str, Any], book: Book) -> Found | None:
    if "ready" not in slots:
        return None
    days = _days(slots["ready"], book)
    said = ReadyAfter(Term("recipe", recipe.kind), Count(Decimal(days), "day"))
    return Tweak(warm_days=days or LONGEST_DAYS + 1), (said,), "ready"


def _shelf(recipe: Recipe, slots: Mapping[str, Any], book: Book) -> Found | None:
    if "shelf" not in slots:
        return None
    days = _days(slots["shelf"], book)
    said = KeepsFor(Term("recipe", recipe.kind), Count(Decimal(days), "day"))
    return Tweak(shelf_days=days), (said,), "shelf"


def _share(recipe: Recipe, slots: Mapping[str, Any], _book: Book) -> Found | None:
    if "share" not in slots:
        return None
    said = slots["share"]
    share = said.value / 100 if isinstance(said, Quantity) else Decimal(said)
    fact = KeptBack(Term("recipe", recipe.kind), (share * 100).quantize(Decimal("0.1")))
    return Tweak(keep_back=share), (fact,), "share"


def _days(said: Any, book: Book) -> int:
    """Whole days; a day that was read for "in 12 days" counts from today. -1 where it is none."""
    if isinstance(said, Duration):
        days = said.n * _DAYS.get(said.unit, 0)
        return int(days) if days == int(days) else -1
    on = said.date() if isinstance(said, datetime) else said
    return (on - book.today).days if isinstance(on, date) else -1


def _is_refused(slots: Mapping[str, Any]) -> bool:
    thing = slots.get("ingredient", slots.get("thing"))
    name = thing.name if isinstance(thing, Term) else key_of(str(thing or ""))
    return is_refused(name)


def _kept(recipe: Recipe, book: Book) -> GroupSet:
    own = book.group.settings.get(SETTING, {})
    return GroupSet(SETTING, {**own, recipe.kind: as_plain(recipe)})
