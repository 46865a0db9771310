"""Where one request of a message ends and the next begins."""

from __future__ import annotations

from bot.language.cues import Cue
from bot.language.message import Candidate, Message
from bot.language.weighing import candidates, weigh

MOST_CLAUSES = 8
"""More stretches than this one message is not cut into; what follows belongs to the last."""


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
        if (found := candidates(message, start, end))
    ]


def as_kind(message: Message, kind: str) -> Candidate:
    """A whole message taken for one kind, whether or not anything but its values says so."""
    shape = message.cues.shapes.kinds[kind]
    return weigh(message, shape, [], 0, len(message.reading.tokens))


def _asked(message: Message, told: Candidate) -> Candidate:
    """What a clause with a question mark behind it asks, where it else would tell something."""
    instead = message.cues.shapes.kinds[told.kind].asked
    if not instead or not message.question_behind(told.end):
        return told
    shape = message.cues.shapes.kinds[instead]
    return weigh(message, shape, list(told.cues), told.start, told.end)


def _segments(message: Message, count: int) -> list[tuple[int, int]]:
    """The stretches between pauses and joining words; never through a value or a cue."""
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
    cuts = cuts[:MOST_CLAUSES]
    return list(zip(cuts, [*cuts[1:], count], strict=True))


def _goes_on(message: Message, before: tuple[int, int], part: tuple[int, int]) -> bool:
    """Whether a part of a message goes on with what was said before it."""
    first = candidates(message, *before)
    then = candidates(message, *part)
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
        (one for one in candidates(message, before[0], part[1]) if one.kind == first.kind), None
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


def standing(message: Message) -> set[Cue]:
    """The cues that speak for what the message was understood as, and those that deny."""
    chosen = {hit.payload for candidate in clauses(message) for hit in candidate.cues}
    return chosen | {hit.payload for hit in message.found if hit.payload.force == "denies"}
