"""A plot: told, changed, closed and listed by message."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, ClassVar

from bot import guard
from bot.craft import plots, rounds
from bot.craft.entries import Entry, Head
from bot.craft.plots import Plot
from bot.craft.units import Quantity, settled
from bot.facts import Count, Fact, Option, Question, Request, Term
from bot.records.book import Answer, Book
from bot.records.changes import Change, Closed, Opened, Recorded
from bot.records.plotting import called, owned, plot_named

KIND = "plot"

LONGEST_NAME = 24
LARGEST_M2 = 10_000_000
MOST_PLANTS = 1_000_000
LARGEST_TANK_ML = 10_000_000


@dataclass(frozen=True, slots=True)
class PlotIs(Fact):
    """What is known of a plot: crop, area, plants, sown, harvest, sprayer, in that order."""

    words: ClassVar[str] = "plot.is"
    plot: str
    known: tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class NothingKnown(Fact):
    """A plot that only has its name; what can be told of it."""

    words: ClassVar[str] = "plot.bare"
    plot: str


@dataclass(frozen=True, slots=True)
class Sown(Fact):
    """The day the crop was sown or planted."""

    words: ClassVar[str] = "plot.sown"
    on: date


@dataclass(frozen=True, slots=True)
class HarvestOn(Fact):
    """The day the harvest is expected."""

    words: ClassVar[str] = "plot.harvest"
    on: date


@dataclass(frozen=True, slots=True)
class SprayerOf(Fact):
    """The tank of the sprayer that is used there."""

    words: ClassVar[str] = "plot.sprayer"
    tank: Quantity


@dataclass(frozen=True, slots=True)
class OwnerOf(Fact):
    """Whose plot it is."""

    words: ClassVar[str] = "plot.of"
    name: str


@dataclass(frozen=True, slots=True)
class RoundsFollow(Fact):
    """The rounds of this plot now stop before its harvest: the days that stay."""

    words: ClassVar[str] = "plot.rounds-follow"
    days: tuple[date, ...]


@dataclass(frozen=True, slots=True)
class RoundsNone(Fact):
    """No round of this plot fits before its harvest any more."""

    words: ClassVar[str] = "plot.rounds-none"


@dataclass(frozen=True, slots=True)
class PlotClosed(Fact):
    """The plot is closed, with the rounds that were planned on it."""

    words: ClassVar[str] = "plot.closed"
    plot: str


@dataclass(frozen=True, slots=True)
class NoPlots(Fact):
    """No plot is known; how to tell one."""

    words: ClassVar[str] = "plot.none"


@dataclass(frozen=True, slots=True)
class NoSuchPlot(Fact):
    """No plot of that name is known; those that are."""

    words: ClassVar[str] = "plot.no-such"
    said: str
    plots: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WhichPlot(Fact):
    """Asks which plot is meant."""

    words: ClassVar[str] = "plot.which"
    plots: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlotCannotBe(Fact):
    """The area or number of plants cannot be."""

    words: ClassVar[str] = "plot.cannot-be"


@dataclass(frozen=True, slots=True)
class HarvestBeforeSowing(Fact):
    """The harvest cannot be before the sowing."""

    words: ClassVar[str] = "plot.harvest-before-sowing"
    plot: str
    sown: date


def answer(request: Request, book: Book) -> Answer:
    """Close it, list them, or keep what was said of one, old or new."""
    slots = request.slots
    action = slots.get("action")
    known = owned(book)
    if isinstance(action, Term) and action.name == "close":
        return _close(request, book, known)
    told = _told(request)
    if told is None:
        return Answer((PlotCannotBe(),))
    name = _name(slots.get("name"))
    if not told and not name:
        return _listed(known, book)
    plot = plot_named(book, name) if name else _same_crop(known, told)
    if not told:
        return Answer((_line(plot, book),)) if plot else _new(name, told, book)
    return _changed(plot, told, book) if plot else _new(name, told, book)


def _told(request: Request) -> dict[str, object] | None:
    """What was said of a plot, as data of its entry; None where an amount cannot be."""
    slots = request.slots
    data: dict[str, object] = {}
    crop = slots.get("crop")
    if crop is not None:
        data["crop"] = crop.name if isinstance(crop, Term) else str(crop)
    if "area" in slots:
        area = settled(slots["area"])
        if not 0 < area.to("square_metre").value <= LARGEST_M2:
            return None
        data |= {"area": str(area.value), "area_unit": area.unit}
    if "plants" in slots:
        plants = slots["plants"].n
        if not 0 < plants <= MOST_PLANTS or plants != int(plants):
            return None
        data["plants"] = int(plants)
    if "sprayer" in slots:
        tank_ml = int(settled(slots["sprayer"]).to("millilitre").value)
        if not 0 < tank_ml <= LARGEST_TANK_ML:
            return None
        data["tank_ml"] = tank_ml
    for slot, key in (("sown", "sown_on"), ("harvest", "harvest_on")):
        if slot in slots:
            data[key] = slots[slot].isoformat()
    return data


def _name(said: Any) -> str:
    words = " ".join(str(said or "").split()).strip(" .,!?\"'")
    return words[:LONGEST_NAME].strip()


def _same_crop(known: tuple[Plot, ...], told: dict[str, object]) -> Plot | None:
    """The one plot of theirs with that crop whose sowing is not known yet, if no name was said."""
    found = [each for each in known if each.crop and each.crop == told.get("crop")]
    waiting = [each for each in found if each.begun_on is None]
    return waiting[0] if len(waiting) == 1 and len(found) == 1 else None


def _new(name: str, told: dict[str, object], book: Book) -> Answer:
    code = book.next_code(name, bare=True) if name else book.next_code("P")
    plot = plots.fold(*_head(book, code, told))
    if _too_early(plot):
        return Answer((HarvestBeforeSowing(code, plot.begun_on or book.today),))
    opened = Opened(plots.SUBJECT, "plot", book.said_at, {"name": code, **told}, code=code)
    return Answer((_line(plot, book, new=True),), (opened,))


def _head(book: Book, code: str, told: dict[str, object]) -> tuple[Head, list[Entry]]:
    head = Head("", plots.SUBJECT, code, book.group.id, book.said_at, book.member.zone)
    data = {"name": code, "owner_id": book.member.id, **told}
    return head, [Entry("plot", book.said_at, data, book.member.id)]


def _changed(plot: Plot, told: dict[str, object], book: Book) -> Answer:
    head, entries = book.told(plot.id)
    after = plots.fold(head, [*entries, Entry("plot", book.said_at, told, book.member.id)])
    if _too_early(after):
        return Answer((HarvestBeforeSowing(after.name, after.begun_on or book.today),))
    changes: list[Change] = [Recorded(plot.id, "plot", book.said_at, told)]
    facts: list[Fact] = [_line(after, book)]
    if "harvest_on" in told:
        for each in _rounds_on(plot, book):
            follow = _harvest_of(each, told["harvest_on"], book)
            changes.append(Recorded(each.id, "harvest", book.said_at, follow))
            its_head, its_entries = book.told(each.id)
            moved = rounds.fold(its_head, [*its_entries, Entry("harvest", book.said_at, follow)])
            days = moved.ahead(book.today).dates
            facts.append(RoundsFollow(days) if days else RoundsNone())
    return Answer(tuple(facts), tuple(changes))


def _too_early(plot: Plot) -> bool:
    """Whether the harvest would come before the crop is in the ground."""
    harvest_on = plot.harvest.harvest_on
    return harvest_on is not None and plot.begun_on is not None and harvest_on <= plot.begun_on


def _harvest_of(plan: rounds.Rounds, on: object, book: Book) -> dict[str, object]:
    data: dict[str, object] = {"harvest_on": on}
    recipe = book.recipes.get(plan.dose.recipe)
    stop = guard.stop_days(book, recipe, plan.dose.use, plan.crop) if recipe else None
    return data if stop is None else {**data, "stop_days": stop}


def _rounds_on(plot: Plot, book: Book) -> list[rounds.Rounds]:
    return [each for each in book.open(rounds.SUBJECT, rounds.fold) if each.plot_id == plot.id]


def _close(request: Request, book: Book, known: tuple[Plot, ...]) -> Answer:
    name = _name(request.slots.get("name"))
    names = tuple(each.name for each in known)
    if name:
        plot = plot_named(book, name)
        if plot is None:
            return Answer((NoSuchPlot(name, names) if names else NoPlots(),))
    elif not known:
        return Answer((NoPlots(),))
    elif len(known) > 1:
        options = tuple(Option(each, each) for each in names)
        ask = Question(WhichPlot(names), request, "name", options, listed=False)
        return Answer(question=ask)
    else:
        plot = known[0]
    gone = [Closed(each.id, "ended", book.said_at) for each in _rounds_on(plot, book)]
    return Answer((PlotClosed(plot.name),), (Closed(plot.id, "closed", book.said_at), *gone))


def _listed(known: tuple[Plot, ...], book: Book) -> Answer:
    """One line a plot: their own; for a keeper everybody's, their own first."""
    others: tuple[Plot, ...] = ()
    if "keeper" in book.roles:
        mine = {each.id for each in known}
        everyone = book.open(plots.SUBJECT, plots.fold)
        others = tuple(each for each in everyone if each.id not in mine)
    if not known and not others:
        return Answer((NoPlots(),))
    return Answer(tuple(_line(each, book) for each in (*known, *others)))


def _line(plot: Plot, book: Book, *, new: bool = False) -> Fact:
    known: list[Any] = []
    if not new and plot.owner_id != book.member.id:
        name = called(book, plot.owner_id)
        known += [OwnerOf(name)] if name else []
    if plot.crop:
        known.append(Term("crop", plot.crop))
    if plot.area is not None:
        known.append(plot.area)
    if plot.plants:
        known.append(Count(Decimal(plot.plants), "plant"))
    if plot.begun_on is not None:
        known.append(Sown(plot.begun_on))
    if plot.harvest.harvest_on is not None:
        known.append(HarvestOn(plot.harvest.harvest_on))
    if plot.tank_ml:
        known.append(SprayerOf(Quantity(Decimal(plot.tank_ml), "millilitre")))
    return PlotIs(plot.name, tuple(known)) if known else NothingKnown(plot.name)
