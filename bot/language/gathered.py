"""Slots that are gathered from several values, or from words the bot has never heard."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal

from bot.facts import Count, Per, Term
from bot.language.mark import Mark
from bot.language.scene import Filled, Scene, nearness, run
from bot.language.shapes import Shape, Slot
from bot.language.templates import Hit


def _each(slot: Slot, scene: Scene, filled: Filled) -> None:
    """So much for each of the plants that are counted: 300 plants, 250 ml each."""
    types = {mark.types[0] for mark in scene.marks}
    counted = next((mark for mark in scene.marks if mark.types[0] == "count:plant"), None)
    if "per" in types or (counted is None and any(each.startswith("count:") for each in types)):
        return
    for mark in scene.marks:
        if mark.types[0] == "volume" and nearness(mark, slot.name, scene):
            if counted is None and not _of_a_plant(mark, slot.name, scene):
                continue
            noun = "plant" if counted is None else counted.value.noun
            filled.slots[slot.name] = Per(mark.value, Count(Decimal(1), noun))
            filled.used.append(mark)
            return


def _of_a_plant(mark: Mark, slot: str, scene: Scene) -> bool:
    """Whether the words right behind an amount name the plant too: 250 ml each plant."""
    return any(
        hit.start == mark.end and hit.end - hit.start > 1 for hit in scene.roles_for.get(slot, ())
    )


def _quiet(slot: Slot, scene: Scene, filled: Filled) -> None:
    """Two times of day: from, to."""
    times = [mark for mark in scene.marks if mark.types[0] == "time"]
    if len(times) == 2:
        filled.slots[slot.name] = (times[0].value, times[1].value)
        filled.used += times


def _spacing(slot: Slot, scene: Scene, filled: Filled) -> None:
    """Two lengths, as 90 x 60 cm."""
    lengths = [mark for mark in scene.marks if mark.types[0] == "length"]
    if len(lengths) == 2:
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
        name = run(scene, mark.end, 1) or run(scene, mark.start - 1, -1)
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
        known = _known(scene, "ingredient", after, mark.start, ahead_first=True) or _known(
            scene, "recipe", after, mark.start, ahead_first=True
        )
        if known is not None:
            thing = getattr(known.value, "name", known.value)
            found.append((thing, Decimal(mark.value), called))
            filled.used += [mark, known, *([unit] if unit else [])]
            continue
        name = run(scene, mark.start - 1, -1) or run(scene, after, 1)
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


def _weekdays(slot: Slot, scene: Scene, filled: Filled) -> None:
    """Every day of the week that is named: mondays; monday and friday. One alone is a day."""
    days = [mark.value for mark in scene.marks if mark.types[0] == "weekday"]
    if len(days) > 1 or (days and any(mark.types[0] == "every" for mark in scene.marks)):
        filled.slots[slot.name] = tuple(sorted(set(days)))


GATHERED = {
    "per": _each,
    "quiet": _quiet,
    "spacing": _spacing,
    "weekdays": _weekdays,
    "measure": _measure,
    "fills": _fills,
    "materials": _materials,
    "prices": _prices,
}


def free_words(shape: Shape, scene: Scene, filled: Filled) -> None:
    """A crop, plot or member never heard of: the free words beside a word for the slot."""
    for slot in shape.slots.values():
        if slot.name in filled.slots or not slot.free:
            continue
        for hit in scene.roles:
            if hit.payload.slot != slot.name:
                continue
            after = hit.payload.side == "before"
            words = run(scene, hit.end, 1) if after else run(scene, hit.start - 1, -1)
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
            whole = name in shape.slots and shape.slots[name].types[0] == "text"
            end = scene.end if whole else min(stop, scene.end)
            if name in shape.slots and shape.slots[name].types[0] not in {"free", "text"}:
                ends = [mark.start for mark in scene.marks if start < mark.start < end]
                end = min([end, *ends])
            while end > start and (end - 1) in scene.filler and not whole:
                end -= 1
            if start == hit.start:  # a run that opens its template begins behind the filler
                opening = (one for one in range(start, end) if one not in scene.filler)
                start = next(opening, end)  # noqa: PLW2901 - the run itself is what moves
            if name in shape.slots and name not in filled.slots and end > start:
                filled.slots[name] = text(start, end)
                filled.taken.update(range(start, end))
