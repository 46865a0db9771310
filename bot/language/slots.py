"""Which value fills which slot: by type, by the words beside it, by what it stands behind."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from bot.clock import instant
from bot.craft.units import Quantity
from bot.facts import Count, Term
from bot.language.gathered import GATHERED, free_words
from bot.language.mark import Mark
from bot.language.scene import FAR, Filled, Scene, crossed, nearness
from bot.language.shapes import Shape, Slot

BEHIND = 9
FITS = 1
BARE = -2

_WIDE = {"per", "speed", "flow"}


def fill(shape: Shape, scene: Scene) -> Filled:
    """The slots of a kind from one clause. Deterministic: ties go by place, then by slot order."""
    filled = Filled()
    for slot in shape.slots.values():
        for type_ in slot.types:
            gather = GATHERED.get(type_)
            if gather is not None:
                gather(slot, scene, filled)
    pairs = []
    for place, mark in enumerate(scene.marks):
        for order, slot in _takers(mark, shape):
            worth = _worth(mark, slot, shape, scene)
            if worth is not None:
                bare = mark.types[0] == "number"
                pairs.append((bare, -worth, place, order, mark, slot))
    pairs.sort(key=lambda pair: pair[:4])
    for _, _, _, _, mark, slot in pairs:
        if slot.name in filled.slots and not _joins(slot):
            continue
        aside = mark.types[0] == "weekday"
        if not aside and any(mark.overlaps(other) for other in filled.used):
            continue
        filled.used.append(mark)
        filled.source[slot.name] = mark
        value = as_slot(mark, slot)
        if slot.name in filled.slots:
            value = (*filled.slots[slot.name], *value)
        filled.slots[slot.name] = value
    _order_which(shape, scene, filled)
    free_words(shape, scene, filled)
    filled.left = [
        mark
        for mark in scene.marks
        if not any(mark is other or mark.overlaps(other) for other in filled.used)
    ]
    return filled


def _takers(mark: Mark, shape: Shape) -> Sequence[tuple[int, Slot]]:
    """The slots that may take a value, in their order: those of its types, any for a number."""
    if mark.types[0] == "number":
        return tuple(enumerate(shape.slots.values()))
    if len(mark.types) == 1:
        return shape.by_type.get(mark.types[0], ())
    found = {order: slot for type_ in mark.types for order, slot in shape.by_type.get(type_, ())}
    return sorted(found.items())


def _joins(slot: Slot) -> bool:
    return slot.types == ("which",)


def _order_which(shape: Shape, scene: Scene, filled: Filled) -> None:
    """Barrels in the order in which they were named."""
    for slot in shape.slots.values():
        if _joins(slot) and slot.name in filled.slots:
            marks = sorted(
                (mark for mark in filled.used if mark.types[0] in {"which", "number"}),
                key=lambda mark: mark.start,
            )
            named = [name for mark in marks for name in as_slot(mark, slot)]
            filled.slots[slot.name] = tuple(dict.fromkeys(named))
    del scene


def _worth(mark: Mark, slot: Slot, shape: Shape, scene: Scene) -> int | None:
    """How well a value suits a slot; None where it does not."""
    fits = any(type_ in mark.types for type_ in slot.types)
    named = nearness(mark, slot.name, scene)
    if fits:
        worth = named or FITS
        if slot.beside and _behind(mark, slot.beside, shape, scene):
            worth = max(worth, BEHIND)
        elif slot.named and not named and mark.types[0] not in _WIDE:
            return None
        return worth + (2 if mark.types[0] in _WIDE else 0)
    if not named and _before_crop(mark, scene):
        # "drench 300 tomato" counts plants; "leaf spray 4 tomato" is for tomato.
        plants = slot.types[0] == "count:plant" and mark.value >= 1
        return FITS if plants and scene.texts[mark.start] not in scene.spoken else None
    if mark.value == 1 and not scene.texts[mark.start][:1].isdigit():
        if not (named and slot.types[0].startswith("count:")):
            return None  # an article: "another barrel" is neither a litre nor barrel 1
    return _bare(mark, slot, named, shape, scene)


def _before_crop(mark: Mark, scene: Scene) -> bool:
    return any(other.start == mark.end and other.types[0] == "crop" for other in scene.marks)


def _bare(mark: Mark, slot: Slot, named: int, shape: Shape, scene: Scene) -> int | None:
    """How well a number without a unit suits a slot."""
    type_ = slot.types[0]
    if slot.beside and mark.value > 1 and mark.start - 1 in scene.filler:
        if _behind(mark, slot.beside, shape, scene):
            return BEHIND  # "3 tanks of 16"
    if type_.startswith("count:") and named:
        return named
    volumes = [other for other in shape.slots.values() if other.types[0] == "volume"]
    if slot.bare and mark.value >= 1 and (named or not slot.named):
        return named or BARE
    if type_ == "temperature":  # "barrel of 200" is no heat
        return named or (None if volumes else FITS)
    if type_ == "which" and not volumes:
        return named or BARE
    if type_ == "time" and named:
        return named
    return None


def _behind(mark: Mark, slot: str, shape: Shape, scene: Scene) -> bool:
    """Whether a value stands right behind (or before) one of the type of another slot."""
    types = shape.slots[slot].types
    for other in scene.marks:
        if not any(type_ in other.types for type_ in types) or other.overlaps(mark):
            continue
        between = range(other.end, mark.start) if other.end <= mark.start else range(0)
        if len(between) > FAR or not scene.joined.isdisjoint(between):
            continue  # "2 tanks and 1 litre"
        ahead = mark.end == other.start
        if ahead or (
            other.end <= mark.start
            and len([place for place in between if place not in scene.filler]) <= 1
            and not crossed(mark, between, scene)
        ):
            return True
    return False


def as_slot(mark: Mark, slot: Slot) -> Any:
    """The value a mark becomes in a slot."""
    value, type_ = mark.value, slot.types[0]
    if mark.types[0] == "number":
        if type_ == "count:times":
            return int(value)
        if type_.startswith("count:"):
            return Count(Decimal(value), type_.removeprefix("count:"))
        if type_ == "volume":
            return Quantity(Decimal(value), "litre")
        if type_ == "temperature":
            return Quantity(Decimal(value), "degree_celsius")
        if type_ == "which":
            return (str(value),)
        if type_ == "time":
            return time(int(value) % 24)
        return value
    if isinstance(value, Term) and slot.types[0] == "language":
        return value.name
    return value


def moment(shape: Shape, scene: Scene, filled: Filled, said_at: datetime, zone: str) -> None:
    """Join a date and a time of day into one aware moment, where the kind has a slot for it."""
    at = next((slot.name for slot in shape.slots.values() if slot.types == ("moment",)), None)
    if at is None:
        return
    clock = next((mark for mark in scene.marks if mark.types[0] == "time"), None)
    if clock is None:
        return
    on = next((mark.value for mark in scene.marks if mark.types[0] == "date"), None)
    day = on if isinstance(on, date) else said_at.astimezone(ZoneInfo(zone)).date()
    filled.slots[at] = instant(day, clock.value, zone)
    filled.slots.pop("on", None)
    filled.used.append(clock)
    filled.left = [mark for mark in filled.left if not mark.overlaps(clock)]


MONTHS_AGO = timedelta(days=60)


def to_come(shape: Shape, scene: Scene, filled: Filled, today: date) -> None:
    """Days of what is still to come: this friday rather than the last, next may, not last may."""
    for name, mark in filled.source.items():
        slot, day = shape.slots[name], filled.slots[name]
        if slot.moved and isinstance(day, date):  # not today, i will do it on thursday
            named = [other.value for other in scene.marks if other.types[0] == "date"]
            day = filled.slots[name] = max((day, *named))
        if not slot.yearly or not isinstance(day, date) or day >= today:
            continue
        weekday = any(other.types[0] == "weekday" for other in scene.marks if other.overlaps(mark))
        if slot.weekly and weekday and today - day <= timedelta(days=7):
            filled.slots[name] = day + timedelta(days=7)
        elif today - day > MONTHS_AGO and not any(
            scene.texts[place].isdigit() and len(scene.texts[place]) == 4
            for place in range(mark.start, mark.end)
        ):
            filled.slots[name] = _next_year(day)


def _next_year(day: date) -> date:
    leap_day = day.month == 2 and day.day == 29
    return day.replace(year=day.year + 1, day=28 if leap_day else day.day)
