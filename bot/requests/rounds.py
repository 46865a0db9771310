"""A plan of spray or drench rounds for a crop."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Any, ClassVar

from bot import care, guard
from bot.craft import mixing, rounds
from bot.craft.entries import Entry, Head
from bot.craft.plots import Plot
from bot.craft.recipe import Recipe, Use
from bot.craft.round_plan import laid_out
from bot.craft.units import settled
from bot.facts import Count, Fact, Per, Question, Request, Term
from bot.pours import poured
from bot.records import meant
from bot.records.book import Answer, Book
from bot.records.changes import Opened
from bot.records.plotting import with_plot
from bot.records.together import circle_of, shut_days

KIND = "rounds"

USUAL_RECIPE = "mother"
NEAREST_START_DAYS = 400


@dataclass(frozen=True, slots=True)
class Planned(Fact):
    """The crop, the use, and the days of the rounds."""

    words: ClassVar[str] = "rounds.planned"
    crop: Any
    use: Term
    days: tuple[date, ...]


@dataclass(frozen=True, slots=True)
class ByCustom(Fact):
    """Interval or number that nobody named and that the recipe's custom gave."""

    words: ClassVar[str] = "rounds.by-custom"
    every: Count
    times: Count


@dataclass(frozen=True, slots=True)
class Dropped(Fact):
    """Rounds that no longer fit before the harvest."""

    words: ClassVar[str] = "rounds.dropped"
    n: Count
    harvest: date


@dataclass(frozen=True, slots=True)
class NoneFit(Fact):
    """No round fits before the harvest."""

    words: ClassVar[str] = "rounds.none-fit"
    crop: Any
    harvest: date


@dataclass(frozen=True, slots=True)
class AllWait(Fact):
    """The group's rounds wait for the rain to end, so this one does too."""

    words: ClassVar[str] = "rounds.all-wait"


@dataclass(frozen=True, slots=True)
class HowMuchEachRound(Fact):
    """Asks what one round takes."""

    words: ClassVar[str] = "rounds.how-much"
    crop: Any


@dataclass(frozen=True, slots=True)
class WhichCrop(Fact):
    """Asks for which crop."""

    words: ClassVar[str] = "rounds.which-crop"


@dataclass(frozen=True, slots=True)
class RoundTank(Fact):
    """Asks for the size of the tank."""

    words: ClassVar[str] = "mix.what-tank"
    tanks: Count


@dataclass(frozen=True, slots=True)
class TooLongAgo(Fact):
    """The first day cannot be."""

    words: ClassVar[str] = "rounds.start-cannot-be"
    start: date


@dataclass(frozen=True, slots=True)
class RoundCannotBe(Fact):
    """The amount of a round cannot be."""

    words: ClassVar[str] = "mix.impossible"


def answer(request: Request, book: Book) -> Answer:
    """The days of the rounds, and what each takes, per tank first."""
    request, plot = with_plot(request, book)
    slots = request.slots
    crop = slots.get("crop")
    if crop is None:
        return Answer(question=Question(WhichCrop(), request, "crop"))
    start = slots.get("start", book.today)
    if abs((start - book.today).days) > NEAREST_START_DAYS:
        return Answer((TooLongAgo(start),))
    recipe, use = _recipe_and_use(slots, book)
    tank_ml = _ml(slots["tank"]) if "tank" in slots else _tank_ml(plot, book)
    if "tanks" in slots and tank_ml is None:
        return Answer(question=Question(RoundTank(slots["tanks"]), request, "tank"))
    try:
        mix_ml = _mix_ml(slots, tank_ml)
        if mix_ml is None:
            return Answer(question=Question(HowMuchEachRound(crop), request, "tanks"))
        strength = mixing.parts(1, use.water_parts)
        mix = mixing.mix_of(mix_ml, strength, tank_ml)
    except mixing.AmountError:
        return Answer((RoundCannotBe(),))
    every, times, by_custom = _pace(slots, use)
    data: dict[str, object] = {
        "use": use.name,
        "recipe": recipe.kind,
        "crop": crop.name if isinstance(crop, Term) else str(crop),
        "water_parts": str(use.water_parts),
        "mix_ml": mix_ml,
        "start_on": start.isoformat(),
        "interval_days": every,
        "times": times,
    }
    data |= _where(plot, tank_ml)
    harvest = slots.get("harvest")
    stop_days = guard.stop_days(book, recipe, use.name, str(data["crop"]))
    if stop_days is not None:
        data["stop_days"] = stop_days
    if harvest is not None:
        data["harvest_on"] = harvest.isoformat()
    circle = circle_of(book)
    data |= shut_days(circle, book.today)
    plan = rounds.fold(
        Head("", rounds.SUBJECT, "", book.group.id, book.said_at, book.member.zone),
        [Entry("plan", book.said_at, data)],
    )
    dates = laid_out(replace(plan, held=False)).dates
    if not dates:
        return Answer((NoneFit(crop, harvest or start),))
    facts: list[Fact] = [
        Planned(crop, Term("use", use.name), dates),
        *poured(mix, tank_ml),
    ]
    if plan.dropped and harvest is not None:
        facts.append(Dropped(Count(Decimal(plan.dropped), "round"), harvest))
    if by_custom:
        facts.append(ByCustom(Count(Decimal(every), "day"), Count(Decimal(times or 0), "time")))
    opened = Opened(rounds.SUBJECT, "plan", book.said_at, data, code=_code(crop, plot, book))
    warned, noted = care.caution("mix", book, recipe, use.name, str(data["crop"]))
    waits = (AllWait(),) if plan.held else ()
    return Answer((*facts, *waits, *warned, *meant.clock(book)), (opened, *noted))


def _recipe_and_use(slots: Mapping[str, Any], book: Book) -> tuple[Recipe, Use]:
    recipe = book.recipe(slots.get("recipe"), USUAL_RECIPE) or book.recipes[USUAL_RECIPE]
    wanted = slots.get("use")
    use = recipe.use(wanted.name) if isinstance(wanted, Term) else None
    use = use or recipe.use("leaf") or recipe.uses[0]
    return recipe, use


def _mix_ml(slots: Mapping[str, Any], tank_ml: int | None) -> int | None:
    """What one round takes in all, where it was said."""
    per: Per | None = slots.get("per")
    if "tanks" in slots and tank_ml is not None:
        return int(slots["tanks"].n * tank_ml)
    if "mix" in slots:
        return _ml(slots["mix"])
    if "plants" in slots and per is not None:
        return int(slots["plants"].n * settled(per.amount).to("millilitre").value)
    if "area" in slots and per is not None and not isinstance(per.each, Count):
        area = settled(slots["area"]).to("square_metre").value
        each = settled(per.each).to("square_metre").value
        return int(settled(per.amount).to("millilitre").value * area / each)
    return None


def _pace(slots: Mapping[str, Any], use: Use) -> tuple[int, int | None, bool]:
    """Days between rounds, how many, and whether custom gave either."""
    every = slots.get("every")
    days = every.days if every is not None else (use.every_days or 10)
    said = slots.get("times")
    times = int(said.n if isinstance(said, Count) else said) if said is not None else use.times
    return days, times, every is None or (said is None and times is not None)


def _where(plot: Plot | None, tank_ml: int | None) -> dict[str, object]:
    """The tank and the plot, where they are known."""
    known = {"tank_ml": tank_ml, "plot_id": plot.id if plot is not None else None}
    return {key: value for key, value in known.items() if value}


def _tank_ml(plot: Plot | None, book: Book) -> int | None:
    """The tank of the plot's sprayer, else the member's own."""
    own: int | None = book.setting("tank_ml")
    return own if plot is None or plot.tank_ml is None else plot.tank_ml


def _code(crop: Any, plot: Plot | None, book: Book) -> str:
    """The short name of the plan: the plot's where it is on one, so that either can be said."""
    if plot is None:
        return book.next_code(_short(crop), bare=True)
    taken = any(each.code == plot.name for each in book.all(rounds.SUBJECT, rounds.fold))
    return book.next_code(plot.name, bare=True) if taken else plot.name


def _short(crop: Any) -> str:
    name = crop.name if isinstance(crop, Term) else str(crop)
    return "".join(each for each in name if each.isalnum() or each == " ")[:12] or "plan"


def _ml(quantity: Any) -> int:
    return int(settled(quantity).to("millilitre").value.to_integral_value())
