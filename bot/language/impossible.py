"""What no grower can have is said back: a day that is not there, an amount beyond all."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from bot.craft.units import Quantity, UnitError, measures
from bot.facts import (
    Count,
    Duration,
    Fact,
    Per,
    Ratio,
    Span,
)
from bot.language.doubts import (
    NoSuchDay,
    NoSuchMeasure,
    NotAnAmount,
    TooMuch,
)
from bot.language.hearing import Hearing
from bot.language.message import Candidate, Message

MOST: Mapping[str, Quantity] = {
    "volume": Quantity(Decimal(100_000), "litre"),
    "mass": Quantity(Decimal(100_000), "kilogram"),
    "area": Quantity(Decimal(2_000), "hectare"),
    "length": Quantity(Decimal(100), "kilometre"),
}
"""Beyond these an amount is taken for a slip. Source: common practice, no source; no circle of
smallholders has a hundred thousand litres or two thousand hectares."""

_NO_MEASURE = frozenset(("which", "time", "temperature"))
"""What a number fills without a measure: B 2, at 6, 31 c."""

MOST_COUNTED = 1_000_000
FURTHEST = timedelta(days=3 * 366)


def impossible(message: Message, candidate: Candidate, hearing: Hearing) -> Fact | None:
    """The first thing said that no grower can have or mean."""
    example = _example(message, candidate)
    fault = broken(message, candidate.start, candidate.end, example)
    if fault is not None:
        return fault
    for mark in candidate.filled.used:
        typed = message.text(mark.start, mark.end)
        fault = _fault_of(mark.value, typed, example, hearing)
        if fault is not None:
            return fault
    return None


def no_measure(message: Message, candidate: Candidate, *, unit_first: bool) -> Fact | None:
    """A number beside a word that meant nothing: an amount in a measure nobody here knows.

    Dropping the word would answer "1 alqueire" as one litre. Words of a name, of a cue and small
    words are no measures, nor is what follows the number of a barrel, an hour or a warmth.
    """
    filled = candidate.filled
    read: set[int] = set(message.filler | filled.taken)
    for value in message.marks:
        read.update(range(value.start, value.end))
    for hit in (*message.roles, *candidate.cues):
        read.update(range(hit.start, hit.end))
    slots = message.cues.shapes.kinds[candidate.kind].slots
    for mark in message.marks:
        inside = candidate.start <= mark.start and mark.end <= candidate.end
        if mark.types[0] != "number" or not inside:
            continue
        slot = candidate.slot_of(mark.start, mark.end)
        if slot is not None and slots[slot].types[0] in _NO_MEASURE:
            continue
        behind, before = _word(message, mark.end), _word(message, mark.start, -1)
        unread = behind is not None and behind not in read
        if unit_first and not unread and before is not None and before not in read:
            return NoSuchMeasure(message.text(before, mark.end)[:40], _example(message, candidate))
        if unread:
            typed = message.text(mark.start, mark.end + 1)[:40]
            return NoSuchMeasure(typed, _example(message, candidate))
    return None


def _word(message: Message, place: int, step: int = 1) -> int | None:
    """The place of the word beside a number, with no pause between; None where there is none."""
    tokens = message.reading.tokens
    place += min(step, 0)
    gap = place if step > 0 else place + 1
    if not 0 <= place < len(tokens) or tokens[gap].gap in {",", "."}:
        return None
    return place if tokens[place].kind == "word" else None


def _example(message: Message, candidate: Candidate) -> str:
    return message.cues.kinds.get(candidate.kind) or message.cues.example


def broken(message: Message, start: int, end: int, example: str) -> Fact | None:
    """What stands between two words and can be no value: 31 feb, -5 l."""
    for mark in message.marks:
        if start <= mark.start < end:
            typed = message.text(mark.start, mark.end)
            if mark.types[0] == "no_day":
                return NoSuchDay(typed, example)
            never = isinstance(mark.value, Duration) and mark.value.n <= 0
            if mark.types[0] == "negative" or never:
                return NotAnAmount(typed, example)
    return None


def _fault_of(value: Any, typed: str, example: str, hearing: Hearing) -> Fact | None:
    if isinstance(value, date):
        day = hearing.said_at.astimezone(ZoneInfo(hearing.zone)).date()
        return NoSuchDay(typed, example) if abs(value - day) > FURTHEST else None
    if isinstance(value, Ratio):
        nothing = value.culture_parts <= 0 or value.water_parts < 0
        return NotAnAmount(typed, example) if nothing else None
    for part in _parts(value):
        number = part.value if isinstance(part, Quantity) else part.n
        if isinstance(part, Quantity) and part.unit.startswith("degree"):
            continue
        if number <= 0 or not number.is_finite():
            return NotAnAmount(typed, example)
        if _beyond(part):
            return TooMuch(typed, example)
    return None


def _parts(value: Any) -> list[Quantity | Count]:
    if isinstance(value, Quantity | Count):
        return [value]
    if isinstance(value, Span):
        return [value.low, value.high]
    if isinstance(value, Per):
        return [value.amount, value.each]
    return []


def _beyond(amount: Quantity | Count) -> bool:
    if isinstance(amount, Count):
        return amount.n > MOST_COUNTED
    try:
        most = MOST.get(measures(amount.unit))
        return most is not None and amount.to(most.unit).value > most.value
    except UnitError:
        return False
