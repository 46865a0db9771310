"""One message with everything in it that one language knows."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from bot.facts import Request
from bot.language.cues import FILLER, POLITE, Cue, Cues, Role
from bot.language.mark import Mark
from bot.language.reading import Reading
from bot.language.scene import Filled, Scene
from bot.language.templates import Hit, Symbols, hits


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

    def slot_of(self, start: int, end: int) -> str | None:
        """The slot that the value between two words went into."""
        for slot, mark in self.filled.source.items():
            if mark.start < end and start < mark.end:
                return slot
        return None


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
    best: dict[tuple[int, int], tuple[Candidate, ...]] = field(default_factory=dict)
    """The kinds that stretches of it may be, as far as they were looked at."""

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
        parted = frozenset(
            place for place in range(start, end) if self.reading.tokens[place].gap in {",", "."}
        )
        spoken = self.cues.spoken
        return Scene(
            start,
            end,
            marks,
            roles,
            texts,
            free,
            self.filler,
            covered,
            parted,
            spoken,
            self.joiners,
        )

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
        else:
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
