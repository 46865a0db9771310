"""A compost heap: what a mix of materials comes to, its turnings, its heat, what it counts as."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, ClassVar

from bot.craft import compost, heap
from bot.craft.amounts import AmountError
from bot.craft.entries import Entry
from bot.craft.heap import VESSEL_DAYS, WINDROW_DAYS, WINDROW_TURNINGS, Heap
from bot.craft.units import Quantity, UnitError, settled
from bot.facts import Fact, Question, Request, Term
from bot.records.book import Answer, Book
from bot.records.changes import Opened, Recorded

KIND = "heap"

COLDEST_C, HOTTEST_C = Decimal(-10), Decimal(90)
BROWN = "wheat_straw"


@dataclass(frozen=True, slots=True)
class Built(Fact):
    """A heap was noted: its short name, the day, what to write."""

    words: ClassVar[str] = "heap.built"
    heap: str
    on: date


@dataclass(frozen=True, slots=True)
class Turned(Fact):
    """The heap was turned."""

    words: ClassVar[str] = "heap.turned"
    heap: str
    on: date


@dataclass(frozen=True, slots=True)
class Heat(Fact):
    """The temperature that was logged."""

    words: ClassVar[str] = "heap.heat"
    heap: str
    on: date
    celsius: Quantity


@dataclass(frozen=True, slots=True)
class Counted(Fact):
    """Hot days and turnings so far, of those the rule asks; until then it counts as raw."""

    words: ClassVar[str] = "heap.counted"
    heap: str
    days: int
    days_asked: int
    turnings: int
    turnings_asked: int


@dataclass(frozen=True, slots=True)
class CountedInVessel(Fact):
    """Hot days so far in a vessel, of those the rule asks; until then it counts as raw."""

    words: ClassVar[str] = "heap.counted-vessel"
    heap: str
    days: int
    days_asked: int


@dataclass(frozen=True, slots=True)
class Logged(Fact):
    """The days the rule asks for are logged."""

    words: ClassVar[str] = "heap.logged"
    heap: str


@dataclass(frozen=True, slots=True)
class NoHeap(Fact):
    """No heap is noted; how to note one."""

    words: ClassVar[str] = "heap.none"


@dataclass(frozen=True, slots=True)
class HowHot(Fact):
    """Asks for the temperature."""

    words: ClassVar[str] = "heap.how-hot"


@dataclass(frozen=True, slots=True)
class HeatCannotBe(Fact):
    """A temperature or a day that cannot be."""

    words: ClassVar[str] = "heap.heat-cannot-be"


@dataclass(frozen=True, slots=True)
class MixIs(Fact):
    """What the mix comes to: water in percent, C:N from the lower to the upper figure."""

    words: ClassVar[str] = "heap.mix"
    moisture: Decimal
    low_cn: Decimal
    high_cn: Decimal


@dataclass(frozen=True, slots=True)
class MixGood(Fact):
    """The mix is good."""

    words: ClassVar[str] = "heap.good"


@dataclass(frozen=True, slots=True)
class AddWater(Fact):
    """It is too dry: so much water."""

    words: ClassVar[str] = "heap.too-dry"
    water: Quantity


@dataclass(frozen=True, slots=True)
class AddDry(Fact):
    """It is too wet: so much of a dry material."""

    words: ClassVar[str] = "heap.too-wet"
    amount: Quantity
    material: Term


@dataclass(frozen=True, slots=True)
class AddBrown(Fact):
    """It is too rich in nitrogen: more dry brown matter."""

    words: ClassVar[str] = "heap.too-green"


@dataclass(frozen=True, slots=True)
class AddGreen(Fact):
    """It is too poor in nitrogen: more green matter or dung."""

    words: ClassVar[str] = "heap.too-brown"


@dataclass(frozen=True, slots=True)
class NoFigures(Fact):
    """No figures are known of that material; those that are."""

    words: ClassVar[str] = "heap.no-figures"
    said: str
    known: tuple[Term, ...]


@dataclass(frozen=True, slots=True)
class HotIs(Fact):
    """How hot a heap must get, and for how long, in a vessel and in the open; how to feel it."""

    words: ClassVar[str] = "heap.hot-is"
    low: Quantity
    high: Quantity
    vessel_days: int
    days: int
    turnings: int


@dataclass(frozen=True, slots=True)
class LastHeat(Fact):
    """The last temperature that was noted of a heap."""

    words: ClassVar[str] = "heap.last-heat"
    heap: str
    celsius: Quantity
    on: date


@dataclass(frozen=True, slots=True)
class ByWeight(Fact):
    """A mix is reckoned from weights; how to send them."""

    words: ClassVar[str] = "heap.by-weight"


def answer(request: Request, book: Book) -> Answer:
    """Note what was done; say the count of the rule; or what a mix comes to."""
    slots = request.slots
    action = slots["action"].name if isinstance(slots.get("action"), Term) else ""
    on = slots.get("on", book.today)
    heaps = book.open(heap.SUBJECT, heap.fold)
    if "materials" in slots or action == "mix":
        return _mix(slots.get("materials", ()))
    if action == "start" or slots.get("vessel"):
        code = book.next_code("H")
        data = {"on": on.isoformat(), "vessel": bool(slots.get("vessel"))}
        return Answer(
            (Built(code, on),), (Opened(heap.SUBJECT, "heap", book.said_at, data, code=code),)
        )
    if action == "hot":
        return Answer(_hot(heaps))
    if not heaps:
        return Answer((NoHeap(),))
    one = heaps[-1]
    if action == "turn":
        return _noted(Turned(one.code, on), "heap_turned", {"on": on.isoformat()}, one, book)
    if action != "temperature" and "temperature" not in slots:
        return Answer(tuple(_count(each) for each in heaps))
    if "temperature" not in slots:
        return Answer(question=Question(HowHot(), request, "temperature"))
    celsius = slots["temperature"].to("degree_celsius").value
    if not COLDEST_C <= celsius <= HOTTEST_C or on > book.today:
        return Answer((HeatCannotBe(),))
    data = {"on": on.isoformat(), "celsius": str(celsius.quantize(Decimal("0.1")))}
    fact = Heat(one.code, on, slots["temperature"])
    return _noted(fact, "heap_temperature", data, one, book)


def _hot(heaps: Sequence[Heap]) -> tuple[Fact, ...]:
    """What was noted last and counts so far, where a heap runs; and what the rule asks."""
    said: list[Fact] = []
    for each in heaps[-1:]:
        if each.readings:
            on, celsius = each.readings[-1]
            said.append(LastHeat(each.code, Quantity(celsius, "degree_celsius"), on))
        said.append(_count(each))
    low, high = (Quantity(end, "degree_celsius") for end in (heap.HOT_FROM_C, Decimal(76)))
    rule = HotIs(low, high, VESSEL_DAYS, WINDROW_DAYS, WINDROW_TURNINGS)
    return (*said, rule)


def _noted(fact: Fact, kind: str, data: dict[str, object], one: Heap, book: Book) -> Answer:
    head, entries = book.told(one.id)
    after = heap.fold(head, [*entries, Entry(kind, book.said_at, data)])
    return Answer((fact, _count(after)), (Recorded(one.id, kind, book.said_at, data),))


def _count(one: Heap) -> Fact:
    days = len(one.hot_days)
    if one.status == "logged":
        return Logged(one.code)
    if one.vessel:
        return CountedInVessel(one.code, days, VESSEL_DAYS)
    return Counted(one.code, days, WINDROW_DAYS, one.turnings_while_hot, WINDROW_TURNINGS)


def _mix(said: tuple[tuple[Any, ...], ...]) -> Answer:
    typical, ends = [], []
    if not said or any(len(each) != 2 for each in said):
        return Answer((ByWeight(),))
    for name, amount in said:
        if name not in compost.FEEDSTOCKS:
            known = tuple(Term("feedstock", each) for each in compost.FEEDSTOCKS)
            return Answer((NoFigures(name, known),))
        try:
            kg = settled(amount).to("kilogram").value
            typical.append(compost.material(name, kg))
            ends.append(
                (compost.material(name, kg, which="low"), compost.material(name, kg, which="high"))
            )
        except (UnitError, AmountError, AttributeError):
            return Answer((ByWeight(),))
    low, high = (compost.cn([pair[end] for pair in ends]) for end in (0, 1))
    whole = Decimal(1)
    fact = MixIs(
        compost.moisture(typical).quantize(whole), low.quantize(whole), high.quantize(whole)
    )
    return Answer((fact, _advice(typical)))


def _advice(mix: list[compost.Material]) -> Fact:
    found = compost.verdict(mix)
    if found == "too_dry":
        litres = compost.water_for(mix)
        return AddWater(Quantity(litres.quantize(Decimal(1)), "litre"))
    if found == "too_wet":
        goal = Decimal(compost.MOISTURE_IDEAL[1])
        all_of_it = compost.together(mix)
        kg = compost.add_for_moisture(all_of_it, compost.material(BROWN, Decimal(1)), goal)
        amount = Quantity((kg or Decimal(0)).quantize(Decimal(1)), "kilogram")
        return AddDry(amount, Term("feedstock", BROWN))
    return {"too_green": AddBrown, "too_brown": AddGreen, "good": MixGood}[found]()
