"""What is told of a supply plan: what to start, what is short, and the ways out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from math import ceil
from typing import Any, ClassVar

from bot.craft import making
from bot.craft.circle import Circle
from bot.craft.shortage import Shortage
from bot.craft.supply import Spray, Start
from bot.craft.units import Quantity
from bot.facts import Count, Fact, Option, Question, Request, Term
from bot.portions import portions
from bot.provision import Provision
from bot.records.book import Book
from bot.records.together import called_here

FILL_STEP_ML = 5000


@dataclass(frozen=True, slots=True)
class StartFresh(Fact):
    """A barrel to start on a day with a fresh starter: what goes in and what to buy."""

    words: ClassVar[str] = "supply.start-fresh"
    barrel: str
    on: date
    amount: Quantity
    liquid: Any
    portions: tuple[Fact, ...]
    ready: date


@dataclass(frozen=True, slots=True)
class StartKept(Fact):
    """A barrel to start on a day from kept culture: what goes in and what to buy."""

    words: ClassVar[str] = "supply.start-kept"
    barrel: str
    on: date
    kept: Quantity
    amount: Quantity
    liquid: Any
    portions: tuple[Fact, ...]
    ready: date


@dataclass(frozen=True, slots=True)
class SprayOn(Fact):
    """Who sprays a crop on a day, how many tanks."""

    words: ClassVar[str] = "supply.spray-on"
    on: date
    who: Any
    crop: Any
    tanks: Count


@dataclass(frozen=True, slots=True)
class SprayWith(Fact):
    """The same, with somebody else's sprayer."""

    words: ClassVar[str] = "supply.spray-with"
    on: date
    who: Any
    crop: Any
    tanks: Count
    whose: Any


@dataclass(frozen=True, slots=True)
class Short(Fact):
    """What will be short, when and for whom: litres of culture or water."""

    words: ClassVar[str] = "supply.short"
    lack: Term
    on: date
    amount: Quantity
    who: Any
    crop: Any


@dataclass(frozen=True, slots=True)
class ShortOfWork(Fact):
    """Tanks that find no hands, or no sprayer, on any of their days."""

    words: ClassVar[str] = "supply.short-of-work"
    lack: Term
    on: date
    tanks: Count
    who: Any
    crop: Any


@dataclass(frozen=True, slots=True)
class ShortYours(Fact):
    """The same where the round is the reader's own."""

    words: ClassVar[str] = "supply.short-yours"
    lack: Term
    on: date
    amount: Quantity
    crop: Any


@dataclass(frozen=True, slots=True)
class ShortOfWorkYours(Fact):
    """The same where the round is the reader's own."""

    words: ClassVar[str] = "supply.short-of-work-yours"
    lack: Term
    on: date
    tanks: Count
    crop: Any


@dataclass(frozen=True, slots=True)
class EachLess(Fact):
    """One choice: each round of those days sprays so much of its mix."""

    words: ClassVar[str] = "supply.each-less"
    percent: int


@dataclass(frozen=True, slots=True)
class MoveTo(Fact):
    """One choice: the round moves to a day on which there is enough."""

    words: ClassVar[str] = "supply.move-to"
    on: date


@dataclass(frozen=True, slots=True)
class Borrow(Fact):
    """One choice: so much culture is borrowed or bought."""

    words: ClassVar[str] = "supply.borrow"
    amount: Quantity


@dataclass(frozen=True, slots=True)
class FindHelp(Fact):
    """One choice where hands, sprayers or water lack: find it; the plan stays."""

    words: ClassVar[str] = "supply.find-help"
    lack: Term


@dataclass(frozen=True, slots=True)
class WhichWay(Fact):
    """Asks which of the choices is taken for a round."""

    words: ClassVar[str] = "supply.which-way"
    crop: Any
    on: date


@dataclass(frozen=True, slots=True)
class OneBarrel(Fact):
    """Everything hangs on one barrel: should its batch fail there is nothing in its stead."""

    words: ClassVar[str] = "supply.one-barrel"


def start_said(start: Start, found: Provision) -> Fact:
    """A start with what goes in and what to buy."""
    code, size_ml = found.barrels[start.barrel_id]
    # Upward to what a grower measures with buckets, never over the rim.
    fill_ml = min(ceil(start.fill_ml / FILL_STEP_ML) * FILL_STEP_ML, size_ml)
    kept_ml = _up(start.kept_ml)
    filling = making.made(found.recipe, fill_ml, kept_ml)
    amount, liquid = litres(filling.liquid_ml), Term("ingredient", filling.liquid)
    parts = portions(filling.portions)
    if kept_ml:
        kept = litres(kept_ml)
        return StartKept(code, start.on, kept, amount, liquid, parts, start.ready_on)
    return StartFresh(code, start.on, amount, liquid, parts, start.ready_on)


def spray_said(spray: Spray, found: Provision, book: Book, circle: Circle) -> Fact:
    """A spray with who does it, and whose sprayer it takes if it is another's."""
    plan, _day = found.rounds[spray.round_id]
    who = name_of(spray.hand_id or book.owner_of(plan.id), book)
    crop, tanks = Term("crop", plan.crop), Count(Decimal(spray.tanks), "tank")
    sprayer = circle.sprayers.get(spray.sprayer_id)
    if sprayer is not None and sprayer.owner_id != spray.hand_id:
        return SprayWith(spray.on, who, crop, tanks, name_of(sprayer.owner_id, book))
    return SprayOn(spray.on, who, crop, tanks)


def short_said(short: Shortage, found: Provision, book: Book) -> Fact:
    """A shortage by date, amount and who."""
    plan, _day = found.rounds[short.round_id]
    who, crop = name_of(short.member_id, book), Term("crop", plan.crop)
    lack = Term("lack", short.lacks)
    own = short.member_id == book.member.id
    if short.lacks in {"culture", "water"}:
        ml = short.culture_ml if short.lacks == "culture" else short.water_ml
        amount = litres(_up(ml))
        if own:
            return ShortYours(lack, short.on, amount, crop)
        return Short(lack, short.on, amount, who, crop)
    tanks = Count(Decimal(short.tanks), "tank")
    if own:
        return ShortOfWorkYours(lack, short.on, tanks, crop)
    return ShortOfWork(lack, short.on, tanks, who, crop)


def ways_out(short: Shortage, found: Provision) -> Question:
    """The question which of the choices is taken; the request carries what each would do."""
    plan, day = found.rounds[short.round_id]
    ml = _up(short.culture_ml)
    options: list[Option] = []
    if 0 < short.less_percent < 100:
        options.append(Option(Term("way", "less"), EachLess(short.less_percent)))
    if short.move_to is not None and day == plan.next_on:
        options.append(Option(Term("way", "move"), MoveTo(short.move_to)))
    if short.lacks == "culture":
        options.append(Option(Term("way", "borrow"), Borrow(litres(ml))))
    else:
        options.append(Option(Term("way", "find"), FindHelp(Term("lack", short.lacks))))
    slots: dict[str, Any] = {
        "plan_id": plan.id,
        "on": day,
        "percent": short.less_percent,
        "ml": ml,
        "recipe_kind": found.recipe.kind,
    }
    if short.move_to is not None:
        slots["to"] = short.move_to
    request = Request("supply", slots)
    ask = WhichWay(Term("crop", plan.crop), day)
    return Question(ask, request, "way", tuple(options), valid_hours=72)


def name_of(member_id: str, book: Book) -> str | Term:
    """What a member of the group is called; "you" to a reader without a name."""
    return called_here(next((each for each in book.members() if each.id == member_id), None), book)


def litres(ml: int) -> Quantity:
    """So many millilitres as a quantity; words choose the unit."""
    return Quantity(Decimal(ml), "millilitre") if ml else Quantity(Decimal(0), "litre")


def _up(ml: int) -> int:
    """Rounded up to half a litre: what is fetched must be enough."""
    return ceil(ml / 500) * 500
