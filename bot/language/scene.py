"""What stands in one clause, and where its words and values are beside each other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from bot.language.mark import Mark
from bot.language.templates import Hit

NEAR = 3
"""How many words may stand between a value and the word that says what it is."""

FAR = 12
"""Farther than this no word is beside a value, whatever stands between."""

NAMED = 8


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
    parted: frozenset[int] = frozenset()
    """Words with a comma or another pause before them."""
    spoken: frozenset[str] = frozenset()
    """Digits that are typed for small words: 4 for "for"."""
    joined: frozenset[int] = frozenset()
    """Words that join two things: and, then."""
    roles_for: Mapping[str, Sequence[Hit]] = field(init=False)
    """The words for slots, by slot."""
    starts: Mapping[str, set[int]] = field(init=False)
    """Where values of each type begin."""

    def __post_init__(self) -> None:
        """Sort the words for slots, so that each value looks only at those of its own."""
        found: dict[str, list[Hit]] = {}
        for hit in self.roles:
            found.setdefault(hit.payload.slot, []).append(hit)
        object.__setattr__(self, "roles_for", found)
        starts: dict[str, set[int]] = {}
        for mark in self.marks:
            starts.setdefault(mark.types[0], set()).add(mark.start)
        object.__setattr__(self, "starts", starts)


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


def nearness(mark: Mark, slot: str, scene: Scene) -> int:
    """8 less the words between, where a word for the slot stands near the value; else 0."""
    best = 0
    for hit in scene.roles_for.get(slot, ()):
        if hit.payload.side == "before" and hit.end <= mark.start:
            between = range(hit.end, mark.start)
        elif hit.payload.side == "after" and mark.end <= hit.start:
            between = range(mark.end, hit.start)
        else:
            continue
        if len(between) > FAR:
            continue
        words = 0
        for place in between:
            words += place not in scene.filler
            if words > NEAR:
                break
        # "40 litres, tank 16 l": a pause is one step more.
        words += not scene.parted.isdisjoint(range(between.start, between.stop + 1))
        if words > NEAR or crossed(mark, between, scene):
            continue
        best = max(best, NAMED - words + (hit.end - hit.start) // 2)
    return best


def crossed(mark: Mark, between: range, scene: Scene) -> bool:
    """Whether another value of the same type, or a bare number, stands between word and value."""
    own, bare = scene.starts.get(mark.types[0], ()), scene.starts.get("number", ())
    return any(start in between for start in own) or any(start in between for start in bare)


def run(scene: Scene, place: int, step: int) -> list[int]:
    """The nearest free words on one side, over filler, in reading order."""
    found: list[int] = []
    while scene.start <= place < scene.end:
        if place in scene.free:
            found.append(place)
        elif found or place not in scene.filler | scene.cue:
            break
        place += step
    return sorted(found)
