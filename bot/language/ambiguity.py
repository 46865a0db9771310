"""What can be read in two ways is asked once."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from bot.craft.units import AmbiguousUnitError, Quantity, known, settle
from bot.facts import (
    SETTLES_UNIT,
    Duration,
    Every,
    Option,
    Question,
    Ratio,
    Request,
)
from bot.language.doubts import (
    EveryOrIn,
    RatioReading,
    WhichRatio,
    WhichReading,
    WhichUnit,
)
from bot.language.hearing import Hearing, Understood
from bot.language.impossible import impossible, no_measure
from bot.language.message import Candidate, Message
from bot.language.reading import Doubt

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
        doubt = impossible(message, candidate, hearing)
        if doubt is None:
            doubt = no_measure(message, candidate, unit_first=unit_first)
        if doubt is not None:
            return Understood(tuple(requests), doubt=doubt)
        request, question = _doubtful(message, candidate, hearing)
        if question is not None:
            return Understood(tuple(requests), question=question)
        requests.append(request)
    return Understood(tuple(requests))


def _doubtful(
    message: Message, candidate: Candidate, hearing: Hearing
) -> tuple[Request, Question | None]:
    request, question = _unit(message, candidate, hearing)
    for mention in message.reading.of("doubt"):
        doubt = mention.value
        inside = candidate.start <= mention.start and mention.end <= candidate.end
        if question is not None or not inside or not isinstance(doubt, Doubt):
            continue
        slot = candidate.slot_of(mention.start, mention.end)
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
            slot = candidate.slot_of(mark.start, mark.end) or "ratio"
            typed = message.text(mark.start, mark.end)
            request, question = _ratio(request, slot, [mark.value], typed, hearing)
    if question is None:
        question = _bare_days(message, candidate, request, hearing)
    return request, question


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
