"""A short message that answers what was asked before."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from bot.craft.units import Quantity
from bot.facts import Count, Every, Fact, Option, Question, Ratio, Request, Term
from bot.language.clauses import as_kind
from bot.language.cues import parted
from bot.language.mark import Mark
from bot.language.message import Candidate, Message
from bot.language.shapes import Slot
from bot.language.slots import as_slot

ANSWERS = frozenset({"yes", "no", "number"})
"""Kinds that only mean something as an answer."""

Answered = tuple[tuple[Request, ...], list[Candidate]]


def answered(
    message: Message, candidates: list[Candidate], pending: Sequence[Question]
) -> Answered | None:
    """The request of an open question with its slot filled, and what else was asked.

    The newest question that the message fits is the one it answers. None when it answers none,
    so that it starts something else.
    """
    for question in pending:
        found = _answer(message, candidates, question)
        if found is not None:
            return found
    return None


def _answer(message: Message, candidates: list[Candidate], question: Question) -> Answered | None:
    if _says_otherwise(candidates, question):
        return None
    other = [one for one in candidates if one.kind not in ANSWERS | {question.request.kind}]
    first = candidates[0] if candidates else None
    if first is not None and first in other and first.told and len(first.filled.slots) > 1:
        return None  # a whole request of another kind, that an option's word stands in
    chosen = _chosen(message, candidates, question.options)
    if chosen is not None:
        return _with_more(_filled(question, chosen), candidates, question), []
    if first is not None and first in other and first.told and first.cues:
        before = _before(message, first, question)
        if before is not None:
            return _filled(question, before), candidates
        if not _nothing_but(message, question):
            return None
    same = first if first is not None and first.kind == question.request.kind else None
    if same is not None and same.told and question.slot not in same.filled.slots:
        return None
    value = _value(message, question, same)
    if value is None:
        return None if candidates else _beside(message, question)
    (request,) = _filled(question, value)[-1:]
    extra = {}
    if same is not None:
        extra = {
            slot: said
            for slot, said in same.filled.slots.items()
            if slot not in request.slots and slot != question.slot
        }
    rest = [one for one in candidates if one.kind not in ANSWERS and one.cues and one is not same]
    if _nothing_but(message, question):
        rest = []
    return (*_filled(question, value)[:-1], request.with_slots(**extra)), rest


def _slot(message: Message, question: Question) -> Slot | None:
    """The slot that was asked for; None where the kind or the slot is not one of words."""
    shape = message.cues.shapes.kinds.get(question.request.kind)
    return shape.slots.get(question.slot) if shape else None


def _before(message: Message, first: Candidate, question: Question) -> Any | None:
    """The answer that stands before another request: "16 litres, and stirred both"."""
    slot = _slot(message, question)
    if slot is None:
        return None
    begins = min(hit.start for hit in first.cues)
    for mark in first.filled.left:
        if mark.end <= begins and any(type_ in mark.types for type_ in slot.types):
            return as_slot(mark, slot)
    return None


def _nothing_but(message: Message, question: Question) -> bool:
    """Whether the message is nothing but a value of the type that was asked: "tomorrow"."""
    slot = _slot(message, question)
    if slot is None:
        return False
    words = set(range(len(message.reading.tokens))) - message.filler
    return any(
        words <= set(range(mark.start, mark.end))
        and any(type_ in mark.types for type_ in slot.types)
        for mark in message.marks
    )


def _says_otherwise(candidates: Sequence[Candidate], question: Question) -> bool:
    """Whether a message of the same kind takes back what the question already holds."""
    held = question.request.slots
    return any(
        slot in held and slot != question.slot and held[slot] != said
        for candidate in candidates[:1]
        if candidate.kind == question.request.kind and candidate.cues
        for slot, said in candidate.filled.slots.items()
    )


def _with_more(
    requests: tuple[Request, ...], candidates: Sequence[Candidate], question: Question
) -> tuple[Request, ...]:
    """The answered request with what else the answer says of it: "b2 not yet" names a barrel."""
    (*before, request) = requests
    extra = {
        slot: said
        for candidate in candidates[:1]
        if candidate.kind == question.request.kind
        for slot, said in candidate.filled.slots.items()
        if slot not in request.slots
    }
    return (*before, request.with_slots(**extra))


def _beside(message: Message, question: Question) -> Answered | None:
    """The request with other slots filled than the one asked: litres were asked, tanks were said.

    Only where every value of the message found its place, and every word says something. A value
    is no answer to whether a thing was done: "at 9" may be when it will be.
    """
    if any(isinstance(option.value, bool) for option in question.options):
        return None
    if question.request.kind not in message.cues.shapes.kinds:
        return None
    taken = as_kind(message, question.request.kind).filled
    if (
        _strangers(message)
        or not taken.slots
        or taken.left
        or set(taken.slots) & set(question.request.slots)
    ):
        return None
    return (question.request.with_slots(**taken.slots),), []


def _strangers(message: Message) -> bool:
    """Whether a word of the message says nothing here."""
    read = set(message.filler)
    for mark in message.marks:
        read.update(range(mark.start, mark.end))
    for hit in message.roles:
        read.update(range(hit.start, hit.end))
    return any(
        place not in read and token.kind in {"word", "code"}
        for place, token in enumerate(message.reading.tokens)
    )


def _filled(question: Question, value: Any) -> tuple[Request, ...]:
    """The request with the slot filled; a ratio's reading is settled for good along with it."""
    slot = question.slot
    if isinstance(value, Every):
        slot = "every" if slot == "start" else slot
    elif isinstance(value, date) and slot == "every":
        slot = "start"
    request = question.request.with_slots(**{slot: value})
    ratios = [each.value for each in question.options if isinstance(each.value, Ratio)]
    if slot == "ratio" and len(ratios) == 2 and value in ratios:
        widest = max(ratios, key=lambda each: each.water_parts)
        reading = "parts" if value == widest else "total"
        settled = Request("settings", {"ratio_reading": Term("reading", reading)})
        return settled, request
    return (request,)


def _chosen(
    message: Message, candidates: Sequence[Candidate], options: Sequence[Option]
) -> Any | None:
    """The value of the option a message names: by its number, its words, its value, yes or no."""
    if not options:
        return None
    tokens = message.reading.tokens
    words = tuple(token.word for token in tokens if token.kind != "mark")
    bare = tuple(token.word for place, token in enumerate(tokens) if place not in message.filler)
    for option in options:
        if isinstance(option.label, str) and option.label and parted(option.label) in {words, bare}:
            return option.value
    values = [mark.value for mark in message.marks if mark.types[0] != "weekday"]
    for option in options:
        if any(_same(value, option) for value in values):
            return option.value
    if len(bare) == 1 and len(message.marks) == 1 and message.marks[0].types[0] == "number":
        number = message.marks[0].value
        if number == int(number) and 1 <= number <= len(options):
            return options[int(number) - 1].value
    kinds = {candidate.kind for candidate in candidates}
    values = [option.value for option in options if isinstance(option.value, bool)]
    said = {"yes": True, "no": False}.get(next(iter(kinds)) if len(kinds) == 1 else "")
    return said if said in values else None


def _same(value: Any, option: Option) -> bool:
    if isinstance(option.value, bool):  # 1 is no yes
        return False
    if value in (option.value, option.label):
        return True
    if isinstance(value, tuple) and len(value) == 1:
        return value[0] in (option.value, option.label)
    return isinstance(value, Term) and value.name in (option.value, option.label)


def _value(message: Message, question: Question, same: Candidate | None) -> Any | None:
    """What a message gives for the slot that was asked: a value of its type, else its words."""
    slot = _slot(message, question)
    if slot is None:
        return None
    if same is not None and question.slot in same.filled.slots:
        return same.filled.slots[question.slot]
    for mark in message.marks:
        if any(type_ in mark.types for type_ in slot.types):
            return as_slot(mark, slot)
    if slot.types[0] == "per":  # "250 ml each": of what, the question knows
        return next((mark.value for mark in message.marks if "volume" in mark.types), None)
    numbers = [mark for mark in message.marks if mark.types[0] == "number"]
    if len(numbers) == 1:
        value = _number(numbers[0], slot.types[0])
        if value is not None:
            return value
    free = slot.types[0] in {"free", "crop", "plot", "member", "text", "code"}
    if free and same is None and len(message.reading.tokens) <= 6:
        return message.reading.text.strip()
    return None


_UNITS = {
    "volume": "litre",
    "mass": "kilogram",
    "length": "metre",
    "temperature": "degree_celsius",
}


def _number(mark: Mark, type_: str) -> Any | None:
    """A bare number in a slot that was asked for: in the unit the question named."""
    number = Decimal(mark.value)
    if type_ in _UNITS:
        return Quantity(number, _UNITS[type_])
    if type_ == "count:times":
        return int(number)
    if type_.startswith("count:"):
        return Count(number, type_.removeprefix("count:"))
    if type_ == "every" and number == int(number) and number > 0:
        return Every(int(number), "day")
    if type_ == "which":
        return (str(mark.value),)
    return number if type_ == "number" else None


__all__ = ["Fact", "answered"]
