"""The sprayer: what it puts out, what a tank covers, refills for an area, a worn nozzle."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any, ClassVar

from bot.craft import sprayer
from bot.craft.amounts import AmountError
from bot.craft.marks import handy
from bot.craft.units import Quantity, settled
from bot.facts import Count, Duration, Fact, Question, Request, Span
from bot.pours import litres
from bot.records.book import Answer, Book
from bot.records.changes import MemberSet

KIND = "sprayer"

_SECONDS = {"second": Decimal(1), "minute": Decimal(60), "hour": Decimal(3600)}
MOST_L_PER_HA = Decimal(100_000)


@dataclass(frozen=True, slots=True)
class PutsOut(Fact):
    """Litres a hectare and an acre, and millilitres a square metre."""

    words: ClassVar[str] = "sprayer.puts-out"
    hectare: Quantity
    acre: Quantity
    square_metre: Quantity


@dataclass(frozen=True, slots=True)
class Walking(Fact):
    """The speed of the walk and the flow."""

    words: ClassVar[str] = "sprayer.walking"
    km_per_h: Decimal
    flow: Quantity


@dataclass(frozen=True, slots=True)
class TankCovers(Fact):
    """The area one tank covers."""

    words: ClassVar[str] = "sprayer.tank-covers"
    tank: Quantity
    area: Quantity


@dataclass(frozen=True, slots=True)
class Fills(Fact):
    """How often the tank is filled for an area, with the litres in all."""

    words: ClassVar[str] = "sprayer.fills"
    tanks: Count
    tank: Quantity
    area: Quantity
    mix: Quantity


@dataclass(frozen=True, slots=True)
class LastFill(Fact):
    """What goes into the last, part-filled tank."""

    words: ClassVar[str] = "sprayer.last-fill"
    mix: Quantity


@dataclass(frozen=True, slots=True)
class FirstCalibrate(Fact):
    """What the sprayer puts out is not known; how to find it."""

    words: ClassVar[str] = "sprayer.calibrate"


@dataclass(frozen=True, slots=True)
class WornNozzle(Fact):
    """The nozzle gives over a tenth more or less than when new."""

    words: ClassVar[str] = "sprayer.worn"
    percent: Decimal


@dataclass(frozen=True, slots=True)
class GoodNozzle(Fact):
    """The nozzle gives what it gave when new, within a tenth."""

    words: ClassVar[str] = "sprayer.not-worn"
    percent: Decimal


@dataclass(frozen=True, slots=True)
class UsualVolume(Fact):
    """The usual litres a hectare for a crop of this height, by knapsack."""

    words: ClassVar[str] = "sprayer.usual-volume"
    height: Quantity
    hectare: Span
    acre: Span


@dataclass(frozen=True, slots=True)
class WhatSize(Fact):
    """Asks for the size of the tank."""

    words: ClassVar[str] = "sprayer.what-tank"


@dataclass(frozen=True, slots=True)
class WhatSwath(Fact):
    """Asks how wide one pass of the spray is."""

    words: ClassVar[str] = "sprayer.what-swath"


@dataclass(frozen=True, slots=True)
class WhatSpeed(Fact):
    """Asks how fast one walks while spraying."""

    words: ClassVar[str] = "sprayer.what-speed"


@dataclass(frozen=True, slots=True)
class Pace(Fact):
    """The speed of a walk whose length and time were told, and nothing else."""

    words: ClassVar[str] = "sprayer.pace"
    km_per_h: Decimal


@dataclass(frozen=True, slots=True)
class SprayerCannotBe(Fact):
    """A figure of the course that cannot be."""

    words: ClassVar[str] = "sprayer.cannot-be"


def answer(request: Request, book: Book) -> Answer:
    """What was measured, worked out and kept; else refills from what was kept; else how to."""
    slots = request.slots
    try:
        if "height" in slots:
            return Answer((_usual(slots["height"]),))
        if "flow" in slots and "new" in slots:
            return Answer((_nozzle(_ml(slots["flow"]), _ml(slots["new"])),))
        rate, walk = _rate(slots)
        if rate is not None:
            return _found(rate, walk, slots, book)
        if "area" in slots:
            return _refills(request, book)
        if "flow" in slots and slots.keys() & {"speed", "swath"}:
            missing, ask = ("swath", WhatSwath()) if "speed" in slots else ("speed", WhatSpeed())
            return Answer(question=Question(ask, request, missing))
        if {"course", "seconds"} <= slots.keys():
            return Answer((_pace(slots), FirstCalibrate()))
    except AmountError:
        return Answer((SprayerCannotBe(),))
    return Answer((FirstCalibrate(),))


def _rate(slots: Mapping[str, Any]) -> tuple[Decimal | None, Fact | None]:
    """Litres a hectare from a course, the nozzle or the jar; None where nothing was measured."""
    caught = slots.get("caught", slots.get("jar"))
    if caught is not None and "swath" in slots and "course" in slots:
        swath, course = _metres(slots["swath"]), _metres(slots["course"])
        seconds = _seconds(slots.get("seconds"))
        out = sprayer.walked(swath, course, [seconds or Decimal(1)], [_ml(caught)])
        if not seconds:
            return out.l_per_ha, None
        flow = Quantity(out.ml_per_min.quantize(Decimal(1)), "millilitre")
        return out.l_per_ha, Walking(out.km_per_h.quantize(Decimal("0.1")), flow)
    if {"flow", "speed", "swath"} <= slots.keys():
        speed = settled(slots["speed"]).to("kilometre").value
        return sprayer.from_flow(_ml(slots["flow"]) / 1000, speed, _metres(slots["swath"])), None
    if caught is not None and "swath" not in slots and "course" not in slots:
        return sprayer.from_jar(_ml(caught)), None
    return None, None


def _found(rate: Decimal, walk: Fact | None, slots: Mapping[str, Any], book: Book) -> Answer:
    if not 1 <= rate <= MOST_L_PER_HA:
        raise AmountError("rate", "too_large")
    whole = rate.quantize(Decimal(1))
    facts: list[Fact] = [
        PutsOut(
            _litre(whole),
            _litre((rate * sprayer.ACRE_M2 / sprayer.HECTARE_M2).quantize(Decimal(1))),
            Quantity((rate / 10).quantize(Decimal("0.1")), "millilitre"),
        )
    ]
    if walk is not None:
        facts.append(walk)
    tank_ml = _ml(slots["tank"]) if "tank" in slots else book.setting("tank_ml")
    if tank_ml:
        m2 = sprayer.tank_covers_m2(int(tank_ml), rate).quantize(Decimal(1))
        facts.append(TankCovers(litres(int(tank_ml)), Quantity(m2, "square_metre")))
    return Answer(tuple(facts), (MemberSet("sprayer", str(whole)),))


def _refills(request: Request, book: Book) -> Answer:
    slots = request.slots
    kept = book.setting("sprayer")
    if kept is None:
        return Answer((FirstCalibrate(),))
    tank_ml = _ml(slots["tank"]) if "tank" in slots else book.setting("tank_ml")
    if not tank_ml:
        return Answer(question=Question(WhatSize(), request, "tank"))
    area = settled(slots["area"])
    found = sprayer.refills(area.to("square_metre").value, Decimal(kept), int(tank_ml))
    tanks = Count(Decimal(found.tanks), "tank")
    facts: list[Fact] = [Fills(tanks, litres(int(tank_ml)), area, _litre_of(found.mix_ml))]
    if found.last_ml and found.full:
        facts.append(LastFill(litres(handy(Fraction(found.last_ml)))))
    return Answer(tuple(facts))


def _nozzle(flow: Decimal, new: Decimal) -> Fact:
    worn = sprayer.is_worn(flow, new)
    percent = (abs(flow - new) * 100 / new).quantize(Decimal(1))
    return WornNozzle(percent) if worn else GoodNozzle(percent)


def _usual(height: Quantity) -> Fact:
    found = sprayer.volume_for(settled(height).to("centimetre").value)
    share = sprayer.ACRE_M2 / sprayer.HECTARE_M2
    ends = (Decimal(found.low_l_per_ha), Decimal(found.high_l_per_ha))
    acre = [_litre((end * share).quantize(Decimal(1))) for end in ends]
    return UsualVolume(height, Span(*(_litre(end) for end in ends)), Span(*acre))


def _pace(slots: Mapping[str, Any]) -> Fact:
    seconds = _seconds(slots["seconds"]) or Decimal(0)
    pace = sprayer.speed_from(_metres(slots["course"]), seconds)
    return Pace(pace.quantize(Decimal("0.1")))


def _seconds(said: Any) -> Decimal | None:
    if isinstance(said, Duration):
        return said.n * _SECONDS.get(said.unit, Decimal(0))
    return None


def _metres(quantity: Quantity) -> Decimal:
    return settled(quantity).to("metre").value


def _ml(quantity: Quantity) -> Decimal:
    return settled(quantity).to("millilitre").value


def _litre(value: Decimal) -> Quantity:
    return Quantity(value, "litre")


def _litre_of(ml: int) -> Quantity:
    return Quantity((Decimal(ml) / 1000).quantize(Decimal(1)), "litre")
