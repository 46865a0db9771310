"""What each part of a message asks: the kind that fits it best, and where one request ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from bot.facts import Request, Term
from bot.language.cues import FILLER, JOINER, POLITE, Cue, Cues, Role
from bot.language.marks import Mark
from bot.language.reading import Reading
from bot.language.shapes import Shape
from bot.language.slots import Filled, Scene, fill, free_runs, moment, to_come
from bot.language.templates import Hit, Symbols, hits

LEANS = 4
"""What a word that only leans to a kind weighs, of the 10 that a telling word weighs."""

STANDS = 5
"""From here on a clause is a request."""

FILLS = 3
STRANGE = 0.5
_VALUES = frozenset(
    ("volume", "mass", "area", "length", "temperature", "ratio", "per", "every", "quantity", "span")
)
_TERMS = frozenset(("use", "recipe", "verdict", "crop", "date", "time", "duration", "which"))


@dataclass(frozen=True, slots=True)
class Candidate:
    """One kind a clause may be: how well, with what in its slots, and why."""

    kind: str
    score: float
    filled: Filled
    cues: tuple[Hit, ...]
    told: bool
    """A cue or its values say so; it does not merely lean."""
    start: int
    end: int

    def request(self) -> Request:
        """The request this candidate stands for."""
        return Request(self.kind, dict(self.filled.slots))


@dataclass(slots=True)
class Message:
    """One message with everything that was found in it, ready to be cut into clauses."""

    reading: Reading
    cues: Cues
    marks: tuple[Mark, ...]
    found: tuple[Hit, ...]
    roles: tuple[Hit, ...]
    filler: frozenset[int]
    joiners: frozenset[int]
    polite: frozenset[int]
    said_at: datetime
    zone: str
    _best: dict[tuple[int, int], tuple[Candidate, ...]] = field(default_factory=dict)

    def candidates(self, start: int, end: int) -> tuple[Candidate, ...]:
        """The kinds words `start` to `end` may be, best first."""
        known = self._best.get((start, end))
        if known is None:
            known = self._best[start, end] = tuple(_candidates(self, start, end))
        return known

    def scene(self, start: int, end: int, covered: frozenset[int]) -> Scene:
        """One clause for the filling of slots; `covered` are the words its cues stand on."""
        marks = tuple(mark for mark in self.marks if start <= mark.start and mark.end <= end)
        in_marks = {place for mark in marks for place in range(mark.start, mark.end)}
        free = frozenset(
            place
            for place in range(start, end)
            if place not in in_marks
            and place not in covered
            and place not in self.filler
            and self.reading.tokens[place].kind == "word"
        )
        roles = tuple(hit for hit in self.roles if start <= hit.start and hit.end <= end)
        texts = tuple(token.text for token in self.reading.tokens)
        return Scene(start, end, marks, roles, texts, free, self.filler, covered)

    def standing(self) -> set[Cue]:
        """The cues that speak for what the message was understood as, and those that deny."""
        chosen = {hit.payload for candidate in clauses(self) for hit in candidate.cues}
        return chosen | {hit.payload for hit in self.found if hit.payload.force == "denies"}

    def question_behind(self, end: int) -> bool:
        """Whether a question mark follows word `end` - 1."""
        tokens, text = self.reading.tokens, self.reading.text
        stop = tokens[end].start if end < len(tokens) else len(text)
        return any(mark in text[tokens[end - 1].end : stop] for mark in "?？")

    def text(self, start: int, end: int) -> str:
        """What was typed at words `start` to `end`."""
        tokens = self.reading.tokens
        return self.reading.text[tokens[start].start : tokens[end - 1].end]


def message(
    reading: Reading,
    cues: Cues,
    symbols: Symbols,
    marks: tuple[Mark, ...],
    said_at: datetime,
    zone: str,
) -> Message:
    """A reading with its cues, roles, filler and joiners found."""
    values: dict[int, list[tuple[str, int]]] = {}
    for mark in marks:
        for type_ in mark.types:
            values.setdefault(mark.start, []).append((type_, mark.end))
    best: dict[tuple[Any, int, int], Hit] = {}
    roles: list[Hit] = []
    filler: set[int] = set()
    joiners: set[int] = set()
    polite: set[int] = set()
    slight = {
        place
        for place, token in enumerate(reading.tokens)
        if token.kind == "mark" or (token.word in cues.slight and not token.slip)
    }
    for hit in hits(cues.templates, symbols, values, slight):
        payload = hit.payload
        if isinstance(payload, Cue):
            key = (payload, hit.start, hit.end)
            if key not in best or best[key].weight < hit.weight:
                best[key] = hit
        elif isinstance(payload, Role):
            roles.append(hit)
        elif payload == FILLER:
            filler.update(range(hit.start, hit.end))
        elif payload == POLITE:
            polite.update(range(hit.start, hit.end))
        elif payload == JOINER:
            joiners.update(range(hit.start, hit.end))
    for mark in marks:
        if isinstance(mark.value, str):  # a name of the group is no filler
            for small in (filler, polite, slight):
                small.difference_update(range(mark.start, mark.end))
    return Message(
        reading,
        cues,
        marks,
        tuple(best.values()),
        tuple(roles),
        frozenset(filler | joiners | polite | slight),
        frozenset(joiners),
        frozenset(polite),
        said_at,
        zone,
    )


def clauses(message: Message) -> list[Candidate]:
    """The best candidate of each request in a message, in order; parts that say nothing join on."""
    count = len(message.reading.tokens)
    groups: list[tuple[int, int]] = []
    for start, end in _segments(message, count):
        if groups and _goes_on(message, groups[-1], (start, end)):
            groups[-1] = (groups[-1][0], end)
        else:
            groups.append((start, end))
    return [
        _asked(message, found[0])
        for start, end in groups
        if (found := message.candidates(start, end))
    ]


def as_kind(message: Message, kind: str) -> Candidate:
    """A whole message taken for one kind, whether or not anything but its values says so."""
    shape = message.cues.shapes.kinds[kind]
    return _weigh(message, shape, [], 0, len(message.reading.tokens))


def _asked(message: Message, told: Candidate) -> Candidate:
    """What a clause with a question mark behind it asks, where it else would tell something."""
    instead = message.cues.shapes.kinds[told.kind].asked
    if not instead or not message.question_behind(told.end):
        return told
    shape = message.cues.shapes.kinds[instead]
    return _weigh(message, shape, list(told.cues), told.start, told.end)


def _segments(message: Message, count: int) -> list[tuple[int, int]]:
    """The stretches between pauses and joining words; never through a value or a cue."""
    if not count:
        return []
    tied: set[int] = set()
    for mark in message.marks:
        tied.update(range(mark.start + 1, mark.end))
    for hit in message.found:
        if not hit.free:
            tied.update(range(hit.start + 1, hit.end))
    cuts = [0]
    for place in range(1, count):
        pause = message.reading.tokens[place].gap in {",", "."}
        if (pause or place in message.joiners) and place not in tied:
            cuts.append(place)
    return list(zip(cuts, [*cuts[1:], count], strict=True))


def _goes_on(message: Message, before: tuple[int, int], part: tuple[int, int]) -> bool:
    """Whether a part of a message goes on with what was said before it."""
    first = message.candidates(*before)
    then = message.candidates(*part)
    if not first or not then or not first[0].told or not then[0].told:
        return True
    if first[0].kind != then[0].kind:
        return _one_breath(message, before, part, first[0], then[0])
    one, other = first[0].filled.slots, then[0].filled.slots
    clash = [
        slot
        for slot in one.keys() & other.keys()
        if one[slot] != other[slot] and not isinstance(one[slot], tuple)
    ]
    return not clash


def _one_breath(
    message: Message,
    before: tuple[int, int],
    part: tuple[int, int],
    first: Candidate,
    then: Candidate,
) -> bool:
    """Whether the second of two kinds only adds values to the first.

    Either it had no cue of its own ("spraying tomato, 2 tanks of 16 l"), or its cue is what
    names a slot of the first ("started 200 l, kept 20 l").
    """
    whole = next(
        (one for one in message.candidates(before[0], part[1]) if one.kind == first.kind), None
    )
    if whole is None or not first.cues or len(whole.filled.left) > len(first.filled.left):
        return False
    if not then.cues:
        return True
    added = whole.filled.slots.keys() - first.filled.slots.keys()
    return any(
        role.payload.slot in added and role.start < cue.end and cue.start < role.end
        for cue in then.cues
        for role in message.roles
    )


def _candidates(message: Message, start: int, end: int) -> list[Candidate]:
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
    kinds.update((shape.kind, None) for shape in shapes.alone if _may_stand_alone(shape, types))
    found = []
    for kind in kinds:
        if kind not in denied:
            candidate = _weigh(
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


def _may_stand_alone(shape: Shape, types: set[str]) -> bool:
    return any(
        all(
            type_ in types
            for slot in group
            for type_ in (shape.slots[slot].types[:1] if slot in shape.slots else (slot,))
        )
        for group in shape.alone
    )


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


def _weigh(message: Message, shape: Shape, cues: list[Hit], start: int, end: int) -> Candidate:
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
    """What `->` gives a slot: yes and no, a Term of the slot's type, or the word itself."""
    type_ = shape.slots[slot].types[0]
    if type_ == "bool":
        return said == "yes"
    if type_ in {"free", "text"}:
        return said
    if type_ == "which":
        return (said,)
    return Term(type_, said)
