"""Which kind a stretch of a message is: its cues, its values, and what stays unread."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any
from zoneinfo import ZoneInfo

from bot.facts import Term
from bot.language.cues import Cue
from bot.language.gathered import free_runs
from bot.language.mark import Mark
from bot.language.message import Candidate, Message
from bot.language.shapes import Shape
from bot.language.slots import fill, moment, to_come
from bot.language.templates import Hit

LEANS = 4
"""What a word that only leans to a kind weighs, of the 10 that a telling word weighs."""

STANDS = 5
"""From here on a clause is a request."""

FILLS = 3
STRANGE = 0.5
_VALUES = frozenset(
    ("volume", "mass", "area", "length", "temperature", "ratio", "per", "every", "quantity", "span")
).union(("flow", "speed"))
_TERMS = frozenset(("use", "recipe", "verdict", "crop", "date", "time", "duration", "which"))


def candidates(message: Message, start: int, end: int) -> tuple[Candidate, ...]:
    """The kinds words `start` to `end` may be, best first."""
    known = message.best.get((start, end))
    if known is None:
        known = message.best[start, end] = tuple(_weighed(message, start, end))
    return known


def _weighed(message: Message, start: int, end: int) -> list[Candidate]:
    all_of_it = (start, end) == (0, len(message.reading.tokens))
    by_kind: dict[str, list[Hit]] = {}
    denied = set()
    for hit in message.found:
        if hit.start < start or hit.end > end:
            if not (hit.free and start <= hit.start < end):
                continue
        cue: Cue = hit.payload
        if (hit.free and _runs_over(message, hit)) or (cue.opening and hit.start != start):
            continue
        if cue.force == "denies":
            denied.add(cue.kind)
        elif cue.force != "only" or (all_of_it and _is_all(message, hit, end)):
            by_kind.setdefault(cue.kind, []).append(hit)
    here = [mark for mark in message.marks if start <= mark.start and mark.end <= end]
    types = {type_ for mark in here for type_ in mark.types}
    shapes = message.cues.shapes
    kinds = dict.fromkeys(by_kind)
    for shape in shapes.alone:
        if any(group <= types for group in shape.alone_types):
            kinds.setdefault(shape.kind)
    found = []
    for kind in kinds:
        if kind not in denied:
            candidate = weigh(
                message, shapes.kinds[kind], _cover(by_kind.get(kind, [])), start, end
            )
            if candidate.score >= STANDS:
                found.append(candidate)
    found.sort(key=lambda one: (-one.score, shapes.kinds[one.kind].place))
    return found


def _runs_over(message: Message, hit: Hit) -> bool:
    """Whether a run that stands for a crop or a person goes over an amount or a day."""
    slots = message.cues.shapes.kinds[hit.payload.kind].slots
    for name, low, high in hit.free:
        if (
            name in slots
            and slots[name].types[0] in {"crop", "member"}
            and any(low <= mark.start < high and _misfit(mark) > 2 for mark in message.marks)
        ):
            return True
    return False


def _is_all(message: Message, hit: Hit, end: int) -> bool:
    """Whether a cue is the whole message but for politeness around it."""
    rest = (*range(hit.start), *range(hit.end, end))
    return all(place in message.polite for place in rest)


def _cover(cues: Sequence[Hit]) -> list[Hit]:
    """The heaviest cues that do not stand on each other's words."""
    kept: list[Hit] = []
    ordered = sorted(cues, key=lambda hit: (-_force(hit), hit.start, hit.end))
    for hit in ordered:
        if not any(hit.start < other.end and other.start < hit.end for other in kept):
            kept.append(hit)
    return kept


def _force(hit: Hit) -> float:
    cue: Cue = hit.payload
    return hit.weight * LEANS / 10 if cue.force == "leans" else hit.weight


def weigh(message: Message, shape: Shape, cues: list[Hit], start: int, end: int) -> Candidate:
    """One kind for a stretch of a message: its slots filled, and how well it fits."""
    literal = frozenset(
        place
        for hit in cues
        for place in range(hit.start, min(hit.end, end))
        if not any(low <= place < high for _, low, high in hit.free)
    )
    scene = message.scene(start, end, literal)
    pointing = [
        mark
        for mark in scene.marks
        if (mark.value == ("all",) or mark.types[0] == "number")
        and mark.start in literal
        and not any(mark.start in hit.values for hit in cues)
    ]
    if pointing:  # "used up all of B2", "kept a tenth": the cue's own word is no value
        scene = replace(scene, marks=tuple(m for m in scene.marks if m not in pointing))
    filled = fill(shape, scene)
    free_runs(cues, scene, shape, filled, message.text)
    today = message.said_at.astimezone(ZoneInfo(message.zone)).date()
    to_come(shape, scene, filled, today)
    moment(shape, scene, filled, message.said_at, message.zone)
    for hit in cues:
        for slot, said in hit.payload.says if hit.payload.kind == shape.kind else ():
            filled.slots.setdefault(slot, _said(said, slot, shape))
    if "text" in shape.slots and shape.slots["text"].types == ("text",):
        filled.slots["text"] = message.reading.text.strip()
    have = set(filled.slots) | {type_ for mark in filled.used for type_ in mark.types}
    alone = max((len(group) for group in shape.alone if have.issuperset(group)), default=0)
    says = any(hit.payload.force != "leans" for hit in cues)
    left = [mark for mark in filled.left if not _stands_on(mark, literal)]
    strange = len(scene.free - filled.taken)
    score = (
        sum(_force(hit) for hit in cues)
        + FILLS * len(filled.slots)
        + (4 + 2 * alone if alone else 0)
        - sum(_misfit(mark) for mark in left)
        - STRANGE * strange
    )
    leans = bool(cues) and any(_is_amount(mark) for mark in filled.used)
    told = bool(says or alone or leans)
    return Candidate(shape.kind, score, filled, tuple(cues), told, start, end)


def _misfit(mark: Mark) -> float:
    """What a value that finds no slot takes away: an amount most, a chance word little."""
    if _is_amount(mark):
        return 4
    return 2 if mark.types[0] in _TERMS else 0.5


def _is_amount(mark: Mark) -> bool:
    return mark.types[0] in _VALUES or mark.types[0].startswith("count:")


def _stands_on(mark: Mark, literal: frozenset[int]) -> bool:
    return any(place in literal for place in range(mark.start, mark.end))


def _said(said: str, slot: str, shape: Shape) -> Any:
    """What `->` gives a slot: yes and no, else a Term of the slot's type."""
    type_ = shape.slots[slot].types[0]
    return said == "yes" if type_ == "bool" else Term(type_, said)
