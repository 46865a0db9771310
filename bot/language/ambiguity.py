"""What can be read in two ways is asked once; what no grower can have is said back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from bot.craft.units import AmbiguousUnitError, Quantity, UnitError, known, measures, settle
from bot.facts import (
    SETTLES_UNIT,
    Count,
    Duration,
    Every,
    Fact,
    Option,
    Per,
    Question,
    Ratio,
    Request,
    Span,
)
from bot.language.doubts import (
    EveryOrIn,
    NoSuchDay,
    NoSuchMeasure,
    NotAnAmount,
    RatioReading,
    TooMuch,
    WhichRatio,
    WhichReading,
    WhichUnit,
)
from bot.language.hearing import Hearing, Understood
from bot.language.message import Candidate, Message
from bot.language.reading import Doubt

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
DAYS = {"day": 1, "week": 7, "month": 30, "year": 365}


def settled(
    message: Message,
    candidates: Sequence[Candidate],
    hearing: Hearing,
    done: tuple[Request, ...],
    *,
    unit_first: bool = False,
) -> Understood:
    """The requests of the candidates, or the first thing about them that must be asked.

    `unit_first`: the language says its measures before the number (lita 16).
    """
    requests = list(done)
    for candidate in candidates:
        doubt = _impossible(message, candidate, hearing)
        if doubt is None:
            doubt = _no_measure(message, candidate, unit_first=unit_first)
        if doubt is not None:
            return Understood(tuple(requests), doubt=doubt)
        request, question = _doubtful(message, candidate, hearing)
        if question is not None:
            return Understood(tuple(requests), question=question)
        requests.append(request)
    return Understood(tuple(requests))


# --- what cannot be ------------------------------------------------------------------------------


def _impossible(message: Message, candidate: Candidate, hearing: Hearing) -> Fact | None:
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


def _no_measure(message: Message, candidate: Candidate, *, unit_first: bool) -> Fact | None:
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
        slot = _slot_of(candidate, mark.start, mark.end)
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


# --- what can be two things ----------------------------------------------------------------------


def _doubtful(
    message: Message, candidate: Candidate, hearing: Hearing
) -> tuple[Request, Question | None]:
    request, question = _unit(message, candidate, hearing)
    for mention in message.reading.of("doubt"):
        doubt = mention.value
        inside = candidate.start <= mention.start and mention.end <= candidate.end
        if question is not None or not inside or not isinstance(doubt, Doubt):
            continue
        slot = _slot_of(candidate, mention.start, mention.end)
        if slot is None:
            continue
        typed = message.text(mention.start, mention.end)
        ratios = [option for option in doubt.options if isinstance(option, Ratio)]
        if slot == "ratio" and ratios:
            request, question = _ratio(request, slot, ratios, typed, hearing)
        elif doubt.about == "tense" and (day := _day(message, candidate, slot, doubt, hearing)):
            request = request.with_slots(**{slot: day})
        else:
            question = _two_readings(request, candidate, slot, doubt, typed)
    for mark in candidate.filled.used:
        if question is None and "fraction" in mark.types:
            slot = _slot_of(candidate, mark.start, mark.end) or "ratio"
            typed = message.text(mark.start, mark.end)
            request, question = _ratio(request, slot, [mark.value], typed, hearing)
    if question is None:
        question = _bare_days(message, candidate, request, hearing)
    return request, question


def _slot_of(candidate: Candidate, start: int, end: int) -> str | None:
    """The slot that the doubtful value went into."""
    for slot, mark in candidate.filled.source.items():
        if mark.start < end and start < mark.end:
            return slot
    return None


def _ratio(
    request: Request, slot: str, ratios: Sequence[Ratio], typed: str, hearing: Hearing
) -> tuple[Request, Question | None]:
    """1 in 3: 1 + 2 or 1 + 3, asked once a member."""
    total, parts = min(ratios, key=_water), max(ratios, key=_water)
    if total == parts:
        total = Ratio(parts.culture_parts, parts.water_parts - parts.culture_parts)
    reading = hearing.settled.get("ratio_reading")
    if reading is not None:
        called = getattr(reading, "name", reading)
        return request.with_slots(**{slot: parts if called == "parts" else total}), None
    options = tuple(
        Option(ratio, RatioReading(ratio.culture_parts, ratio.water_parts))
        for ratio in (total, parts)
    )
    return request, Question(WhichRatio(typed, parts, total), request, slot, options)


def _water(ratio: Ratio) -> Decimal:
    return ratio.water_parts


def _day(
    message: Message, candidate: Candidate, slot: str, doubt: Doubt, hearing: Hearing
) -> date | None:
    """Yesterday or tomorrow in one word: what was done was yesterday, what comes is tomorrow."""
    wanted = message.cues.shapes.kinds[candidate.kind].slots[slot]
    today = hearing.said_at.astimezone(ZoneInfo(hearing.zone)).date()
    for day in doubt.options:
        if isinstance(day, date) and (
            (wanted.ahead and day > today) or (wanted.past and day < today)
        ):
            return day
    return None


def _two_readings(
    request: Request, candidate: Candidate, slot: str, doubt: Doubt, typed: str
) -> Question | None:
    """The readings that differ; none where the slot leaves only one."""
    now = candidate.filled.slots[slot]
    fits = [option for option in doubt.options if type(option) is type(now)]
    if doubt.about == "digit":  # 2001 may be 200 l: the slot's own reading is the other one
        fits = [now, *fits]
    options = tuple(Option(value, value) for value in dict.fromkeys(fits))
    if len(options) < 2:
        return None
    return Question(WhichReading(typed, options[0].value, options[1].value), request, slot, options)


def _unit(
    message: Message, candidate: Candidate, hearing: Hearing
) -> tuple[Request, Question | None]:
    """Amounts in units of one size only; a unit that differs by place is asked once a group."""
    request = candidate.request()
    for slot, value in candidate.filled.slots.items():
        if not isinstance(value, Quantity) or not known(value.unit):
            continue
        try:
            unit = settle(value.unit, hearing.country, hearing.settled.get("units"))
        except AmbiguousUnitError as several:
            options = tuple(
                Option(Quantity(value.value, each.unit), Quantity(value.value, each.unit))
                for each in several.meanings
            )
            typed = next(
                message.text(mark.start, mark.end)
                for mark in candidate.filled.used
                if mark.value == value
            )
            asked = request.with_slots(**{SETTLES_UNIT: several.said})
            return request, Question(WhichUnit(typed), asked, slot, options)
        request = request.with_slots(**{slot: Quantity(value.value, unit)})
    return request, None


def _bare_days(
    message: Message, candidate: Candidate, request: Request, hearing: Hearing
) -> Question | None:
    """`spray tomato 5 days`: every five days, or once in five days?"""
    shape = message.cues.shapes.kinds[candidate.kind]
    if "every" not in shape.slots or "every" in request.slots:
        return None
    for mark in candidate.filled.left:
        value = mark.value
        if not isinstance(value, Duration) or value.unit not in DAYS or value.n != int(value.n):
            continue
        typed = message.text(mark.start, mark.end)
        every = Every(int(value.n), value.unit)
        today = hearing.said_at.astimezone(ZoneInfo(hearing.zone)).date()
        on = today + timedelta(days=int(value.n) * DAYS[value.unit])
        options = (Option(every, every), Option(on, on))
        return Question(EveryOrIn(typed, every, on), request, "every", options)
    return None
