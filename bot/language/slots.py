"""Which value fills which slot: by type, by the words beside it, by what it stands behind."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from bot.clock import instant
from bot.craft.units import Quantity
from bot.facts import Count, Per, Term
from bot.language.marks import Mark
from bot.language.shapes import Shape, Slot
from bot.language.templates import Hit

NEAR = 3
"""How many words may stand between a value and the word that says what it is."""

NAMED = 8
BEHIND = 9
FITS = 1
BARE = -2

_WIDE = {"per", "speed", "flow"}


@dataclass(frozen=True, slots=True)
class Scene:
    """What stands in one clause: its values, the words for slots, and words nobody has used."""

    start: int
    end: int
    marks: tuple[Mark, ...]
    roles: tuple[Hit, ...]
    texts: tuple[str, ...]
    """Every word of the message as it was typed."""
    free: frozenset[int]
    """Words that are no value, no cue and no filler."""
    filler: frozenset[int]
    cue: frozenset[int] = frozenset()
    """Words of the cues themselves."""


@dataclass(slots=True)
class Filled:
    """The slots of one kind, which marks filled them, and which values found no place."""

    slots: dict[str, Any] = field(default_factory=dict)
    used: list[Mark] = field(default_factory=list)
    source: dict[str, Mark] = field(default_factory=dict)
    """For a slot filled from one value, which one."""
    left: list[Mark] = field(default_factory=list)
    taken: set[int] = field(default_factory=set)
    """Free words that went into a slot."""


def fill(shape: Shape, scene: Scene) -> Filled:
    """The slots of a kind from one clause. Deterministic: ties go by place, then by slot order."""
    filled = Filled()
    for slot in shape.slots.values():
        for type_ in slot.types:
            gather = _GATHERED.get(type_)
            if gather is not None:
                gather(slot, scene, filled)
    pairs = []
    for place, mark in enumerate(scene.marks):
        for order, slot in enumerate(shape.slots.values()):
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
    _free_words(shape, scene, filled)
    filled.left = [
        mark
        for mark in scene.marks
        if not any(mark is other or mark.overlaps(other) for other in filled.used)
    ]
    return filled


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
    named = _named(mark, slot.name, scene)
    if fits:
        worth = named or FITS
        if slot.beside and _behind(mark, slot.beside, shape, scene):
            worth = max(worth, BEHIND)
        elif slot.named and not named:
            return None
        return worth + (2 if mark.types[0] in _WIDE else 0)
    if mark.types[0] != "number":
        return None
    return _bare(mark, slot, named, shape)


def _bare(mark: Mark, slot: Slot, named: int, shape: Shape) -> int | None:
    """How well a number without a unit suits a slot."""
    type_ = slot.types[0]
    if type_.startswith("count:") and named:
        return named
    volumes = [other for other in shape.slots.values() if other.types[0] == "volume"]
    if slot.bare and mark.value >= 1 and (named or not slot.named):
        return named or BARE
    if type_ == "temperature":
        return named or FITS
    if type_ == "which" and not volumes:
        return named or BARE
    if type_ == "time" and named:
        return named
    return None


def _named(mark: Mark, slot: str, scene: Scene) -> int:
    """8 less the words between, where a word for the slot stands near the value; else 0."""
    best = 0
    for hit in scene.roles:
        if hit.payload.slot != slot:
            continue
        if hit.payload.side == "before" and hit.end <= mark.start:
            between = range(hit.end, mark.start)
        elif hit.payload.side == "after" and mark.end <= hit.start:
            between = range(mark.end, hit.start)
        else:
            continue
        words = [place for place in between if place not in scene.filler]
        if len(words) > NEAR or _crossed(mark, between, scene):
            continue
        best = max(best, NAMED - len(words) + (hit.end - hit.start) // 2)
    return best


def _crossed(mark: Mark, between: range, scene: Scene) -> bool:
    """Whether another value of the same type stands between a word and the value."""
    return any(other.start in between and other.types[0] == mark.types[0] for other in scene.marks)


def _behind(mark: Mark, slot: str, shape: Shape, scene: Scene) -> bool:
    """Whether a value stands right behind (or before) one of the type of another slot."""
    types = shape.slots[slot].types
    for other in scene.marks:
        if not any(type_ in other.types for type_ in types) or other.overlaps(mark):
            continue
        between = range(other.end, mark.start) if other.end <= mark.start else range(0)
        ahead = mark.end == other.start
        if ahead or (
            other.end <= mark.start
            and len([place for place in between if place not in scene.filler]) <= 1
            and not _crossed(mark, between, scene)
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
    if type_ == "count:times" and isinstance(value, Count):
        return int(value.n)
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


# --- slots that are gathered from several values or from free words -----------------------------


def _each(slot: Slot, scene: Scene, filled: Filled) -> None:
    """So much for each of the plants that are counted: 300 plants, 250 ml each."""
    counted = next((mark for mark in scene.marks if mark.types[0] == "count:plant"), None)
    if counted is None or any(mark.types[0] == "per" for mark in scene.marks):
        return
    for mark in scene.marks:
        if mark.types[0] == "volume" and _named(mark, slot.name, scene):
            filled.slots[slot.name] = Per(mark.value, Count(Decimal(1), counted.value.noun))
            filled.used.append(mark)
            return


def _quiet(slot: Slot, scene: Scene, filled: Filled) -> None:
    """Two times of day: from, to."""
    times = [mark for mark in scene.marks if mark.types[0] == "time"]
    if len(times) == 2:
        filled.slots[slot.name] = (times[0].value, times[1].value)
        filled.used += times


def _spacing(slot: Slot, scene: Scene, filled: Filled) -> None:
    """Two lengths, as 90 x 60 cm: the first number takes the second's unit."""
    lengths = [mark for mark in scene.marks if mark.types[0] == "length"]
    if len(lengths) == 1:
        ahead = [
            mark
            for mark in scene.marks
            if mark.types[0] == "number" and 0 <= lengths[0].start - mark.end <= 1
        ]
        if ahead:
            first = Quantity(Decimal(ahead[-1].value), lengths[0].value.unit)
            filled.slots[slot.name] = (first, lengths[0].value)
            filled.used += [ahead[-1], lengths[0]]
    elif len(lengths) == 2:
        filled.slots[slot.name] = (lengths[0].value, lengths[1].value)
        filled.used += lengths


def _measure(slot: Slot, scene: Scene, filled: Filled) -> None:
    """A vessel by its name and what it holds."""
    vessel = next((mark for mark in scene.marks if mark.types[0] == "vessel"), None)
    holds = next((mark for mark in scene.marks if mark.types[0] == "volume"), None)
    if vessel and holds and not vessel.overlaps(holds):
        filled.slots[slot.name] = (vessel.value.name, holds.value)
        filled.used += [vessel, holds]


def _fills(slot: Slot, scene: Scene, filled: Filled) -> None:
    """A vessel, how many of it, and what they fill: 5 cups fill 1 litre."""
    amounts = [mark for mark in scene.marks if {"count", "quantity"} & set(mark.types)]
    for mark in amounts:
        vessel = next(
            (each for each in scene.marks if each.types[0] == "vessel" and each.overlaps(mark)),
            None,
        )
        full = next(
            (each for each in amounts if each is not mark and each.types[0] == "volume"), None
        )
        if vessel and full:
            n = mark.value.n if isinstance(mark.value, Count) else mark.value.value
            filled.slots[slot.name] = (vessel.value.name, n, full.value)
            filled.used += [mark, vessel, full]
            return


def _materials(slot: Slot, scene: Scene, filled: Filled) -> None:
    """Each amount with the free words that follow it (or, if none do, stand before it)."""
    amounts = [
        mark for mark in scene.marks if mark.types[0] in {"mass", "volume", "count:tank", "count"}
    ]
    found = []
    for mark in amounts:
        known = _known(scene, "feedstock", mark.end, mark.start)
        if known is not None and not any(known is other for other in filled.used):
            found.append((known.value.name, mark.value))
            filled.used += [mark, known]
            continue
        name = _run(scene, mark.end, 1) or _run(scene, mark.start - 1, -1)
        if name:
            found.append((" ".join(scene.texts[place] for place in name), mark.value))
            filled.used.append(mark)
            filled.taken.update(name)
    if found:
        filled.slots[slot.name] = tuple(found)


def _prices(slot: Slot, scene: Scene, filled: Filled) -> None:
    """Each price as (thing, number, unit it is for): sugar is 60 a kg."""
    found = []
    numbers = [mark for mark in scene.marks if mark.types[0] == "number"]
    for mark in numbers:
        unit = next(
            (
                other
                for other in scene.marks
                if other.types[0] in {"unit", "mass", "volume"} and 0 <= other.start - mark.end <= 2
            ),
            None,
        )
        after = unit.end if unit else mark.end
        per = unit.value if unit else None
        called = per.name if isinstance(per, Term) else getattr(per, "unit", "")
        known = _known(scene, "ingredient", after, mark.start, ahead_first=True)
        if known is not None:
            found.append((known.value.name, Decimal(mark.value), called))
            filled.used += [mark, known, *([unit] if unit else [])]
            continue
        name = _run(scene, mark.start - 1, -1) or _run(scene, after, 1)
        if name:
            text = " ".join(scene.texts[place] for place in name)
            found.append((text, Decimal(mark.value), called))
            filled.used += [mark, *([unit] if unit else [])]
            filled.taken.update(name)
    if found:
        filled.slots[slot.name] = tuple(found)


def _known(
    scene: Scene, kind: str, after: int, before: int, *, ahead_first: bool = False
) -> Mark | None:
    """The word of the trade nearest to an amount: right behind it, else close before it."""
    named = [mark for mark in scene.marks if mark.types[0] == kind]
    behind = [mark for mark in named if 0 <= mark.start - after <= 1][:1]
    ahead = [mark for mark in named if 0 <= before - mark.end <= 2][-1:]
    return next(iter([*ahead, *behind] if ahead_first else [*behind, *ahead]), None)


def _run(scene: Scene, place: int, step: int) -> list[int]:
    """The nearest free words on one side, over filler, in reading order."""
    found: list[int] = []
    while scene.start <= place < scene.end:
        if place in scene.free:
            found.append(place)
        elif found or place not in scene.filler | scene.cue:
            break
        place += step
    return sorted(found)


_GATHERED = {
    "per": _each,
    "quiet": _quiet,
    "spacing": _spacing,
    "measure": _measure,
    "fills": _fills,
    "materials": _materials,
    "prices": _prices,
}


def _free_words(shape: Shape, scene: Scene, filled: Filled) -> None:
    """A crop, plot or member never heard of: the free words beside a word for the slot."""
    for slot in shape.slots.values():
        if slot.name in filled.slots or not slot.free:
            continue
        for hit in scene.roles:
            if hit.payload.slot != slot.name:
                continue
            after = hit.payload.side == "before"
            words = _run(scene, hit.end, 1) if after else _run(scene, hit.start - 1, -1)
            words = [place for place in words if place not in filled.taken]
            words = words[:2] if after else words[-2:]
            if words:
                filled.slots[slot.name] = " ".join(scene.texts[place] for place in words)
                filled.taken.update(words)
                break


def free_runs(
    hits: Sequence[Hit],
    scene: Scene,
    shape: Shape,
    filled: Filled,
    text: Callable[[int, int], str],
) -> None:
    """Fill `~slots` with the words as they were typed, up to the end of the clause."""
    for hit in hits:
        for name, start, stop in hit.free:
            end = min(stop, scene.end)
            if name in shape.slots and shape.slots[name].types[0] not in {"free", "text"}:
                ends = [mark.start for mark in scene.marks if start < mark.start < end]
                end = min([end, *ends])
            while end > start and (end - 1) in scene.filler:
                end -= 1
            if start == hit.start:  # a run that opens its template begins behind the filler
                opening = (one for one in range(start, end) if one not in scene.filler)
                start = next(opening, end)  # noqa: PLW2901 - the run itself is what moves
            if name in shape.slots and name not in filled.slots and end > start:
                filled.slots[name] = text(start, end)
                filled.taken.update(range(start, end))
