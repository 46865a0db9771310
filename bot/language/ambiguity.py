"""What can be read in two ways is asked once; what no grower can have is said back."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from bot.craft.units import Quantity, UnitError
from bot.facts import Count, Duration, Every, Fact, Option, Per, Question, Ratio, Request, Span
from bot.language.clauses import Candidate, Message
from bot.language.doubts import (
    EveryOrIn,
    NoSuchDay,
    NotAnAmount,
    OneDay,
    RatioReading,
    Repeated,
    TooMuch,
    WhichRatio,
    WhichReading,
)
from bot.language.hearing import Hearing, Understood
from bot.language.reading import Doubt

MOST = {
    "volume": Quantity(Decimal(100_000), "litre"),
    "mass": Quantity(Decimal(100_000), "kilogram"),
    "area": Quantity(Decimal(2_000), "hectare"),
    "length": Quantity(Decimal(100), "kilometre"),
}
"""Beyond these an amount is taken for a slip. Common practice, no source: no circle of
smallholders has a hundred thousand litres or two thousand hectares."""

MOST_COUNTED = 1_000_000
DAYS = {"day": 1, "week": 7, "month": 30, "year": 365}


def settle(
    message: Message, candidates: Sequence[Candidate], hearing: Hearing, done: tuple[Request, ...]
) -> Understood:
    """The requests of the candidates, or the first thing about them that must be asked."""
    requests = list(done)
    for candidate in candidates:
        doubt = _impossible(message, candidate)
        if doubt is not None:
            return Understood(tuple(requests), doubt=doubt)
        request, question = _doubtful(message, candidate, hearing)
        if question is not None:
            return Understood(tuple(requests), question=question)
        requests.append(request)
    return Understood(tuple(requests))


# --- what cannot be ------------------------------------------------------------------------------


def _impossible(message: Message, candidate: Candidate) -> Fact | None:
    example = message.cues.kinds.get(candidate.kind) or message.cues.example
    for mark in message.marks:
        if not (candidate.start <= mark.start and mark.end <= candidate.end):
            continue
        if mark.types[0] == "bad_date":
            return NoSuchDay(message.text(mark.start, mark.end), example)
    for value in candidate.filled.slots.values():
        fault = _amount(value, example)
        if fault is not None:
            return fault
    return None


def _amount(value: Any, example: str) -> Fact | None:
    for part in _parts(value):
        number = part.value if isinstance(part, Quantity) else part.n
        if isinstance(part, Quantity) and part.unit.startswith("degree"):
            continue
        if number <= 0 or not Decimal(number).is_finite():
            return NotAnAmount(part, example)
        if isinstance(part, Count) and number > MOST_COUNTED:
            return TooMuch(part, example)
        if isinstance(part, Quantity) and _beyond(part):
            return TooMuch(part, example)
    if isinstance(value, Ratio) and (value.culture_parts <= 0 or value.water_parts < 0):
        return NotAnAmount(value, example)
    return None


def _parts(value: Any) -> list[Quantity | Count]:
    if isinstance(value, Quantity | Count):
        return [value]
    if isinstance(value, Span):
        return [value.low, value.high]
    if isinstance(value, Per):
        return [value.amount, value.each]
    if isinstance(value, tuple):
        return [part for inner in value for part in _parts(inner)]
    return []


def _beyond(amount: Quantity) -> bool:
    for most in MOST.values():
        try:
            return amount.to(most.unit).value > most.value
        except UnitError:
            continue
    return False


# --- what can be two things ----------------------------------------------------------------------


def _doubtful(
    message: Message, candidate: Candidate, hearing: Hearing
) -> tuple[Request, Question | None]:
    request = candidate.request()
    for mention in message.reading.of("doubt"):
        doubt = mention.value
        inside = candidate.start <= mention.start and mention.end <= candidate.end
        if not inside or not isinstance(doubt, Doubt):
            continue
        slot = _slot_of(candidate, mention.start, mention.end)
        if slot is None:
            continue
        typed = message.text(mention.start, mention.end)
        if doubt.about == "one_in":
            request, question = _one_in(request, slot, doubt, typed, hearing)
        elif doubt.about == "fraction" and candidate.kind == "mix" and slot == "ratio":
            request, question = _one_in(request, slot, doubt, typed, hearing)
        else:
            question = _two_readings(request, slot, doubt, typed)
        if question is not None:
            return request, question
    return _bare_days(message, candidate, request, hearing)


def _slot_of(candidate: Candidate, start: int, end: int) -> str | None:
    """The slot that the doubtful value went into."""
    marks = [
        mark for mark in candidate.filled.used if mark.start < end and start < mark.end
    ]
    for mark in marks:
        for slot, value in candidate.filled.slots.items():
            if value is mark.value or value == mark.value:
                return slot
    return None


def _one_in(
    request: Request, slot: str, doubt: Doubt, typed: str, hearing: Hearing
) -> tuple[Request, Question | None]:
    """1 in 3: 1 + 2 or 1 + 3, asked once a member."""
    ratios = [option for option in doubt.options if isinstance(option, Ratio)]
    if len(ratios) != 2:
        return request, None
    total, parts = sorted(ratios, key=lambda ratio: ratio.water_parts)
    reading = hearing.settled.get("ratio_reading")
    if reading is not None:
        called = getattr(reading, "name", reading)
        return request.with_slots(**{slot: parts if called == "parts" else total}), None
    options = tuple(
        Option(ratio, RatioReading(int(ratio.culture_parts), int(ratio.water_parts)))
        for ratio in (total, parts)
    )
    return request, Question(WhichRatio(typed, parts, total), request, slot, options)


def _two_readings(request: Request, slot: str, doubt: Doubt, typed: str) -> Question | None:
    if len(doubt.options) < 2:
        return None
    first, second = doubt.options[:2]
    options = tuple(Option(value, value) for value in doubt.options)
    return Question(WhichReading(typed, first, second), request, slot, options)


def _bare_days(
    message: Message, candidate: Candidate, request: Request, hearing: Hearing
) -> tuple[Request, Question | None]:
    """`spray tomato 5 days`: every five days, or once in five days?"""
    shape = message.cues.shapes.kinds[candidate.kind]
    if "every" not in shape.slots or "every" in request.slots:
        return request, None
    for mark in candidate.filled.left:
        value = mark.value
        if not isinstance(value, Duration) or value.unit not in DAYS or value.n != int(value.n):
            continue
        typed = message.text(mark.start, mark.end)
        every = Every(int(value.n), value.unit)
        today = hearing.said_at.astimezone(ZoneInfo(hearing.zone)).date()
        on = today + timedelta(days=int(value.n) * DAYS[value.unit])
        options = (Option(every, Repeated(every)), Option(on, OneDay(on)))
        return request, Question(EveryOrIn(typed), request, "every", options)
    return request, None
