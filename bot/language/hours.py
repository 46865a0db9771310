"""The hour of the day that a clock hour means: its minutes, am and pm, the part of the day."""

from __future__ import annotations

from datetime import time
from decimal import Decimal

from bot.language.pieces import Sheet

_NEAR = 5  # pieces between an hour and the part of the day that belongs to it
QUARTERS = (Decimal("0.25"), Decimal("0.5"), Decimal("0.75"))
AFTER_HOUR = frozenset(("unit", "noun", "span", "multiple", "month", "parts", "pace"))


def is_marked(sheet: Sheet, i: int) -> bool:
    """Whether am or pm stands there; a single letter only glued to its number (3:18a)."""
    piece = sheet.at(i)
    if not {"am", "pm"} & piece.senses.keys():
        return False
    return len(piece.raw) > 1 or piece.gap == "" or piece.end - piece.start > 1


def minutes_after(sheet: Sheet, end: int, *, spoken: bool) -> tuple[int, int]:
    """Minutes said after the hour, and where they end: y media, moins dix, dix, forty."""
    piece = sheet.at(end)
    if piece.has("shift"):
        return int(piece.senses["shift"]), end + 1
    sign, start = 1, end
    if piece.has("minus"):
        sign, start = -1, sheet.past(end + 1, "article")
    elif piece.has("past") or piece.has("and"):
        start = end + 1
    start = sheet.past(start, "minute") if sheet.lexicon.habits.unit_first else start
    value = sheet.number(start)
    if value in QUARTERS and value is not None and (start > end or spoken):
        return sign * int(value * 60), start + 1
    if value is None or value != int(value) or not 0 <= value < 60:
        return 0, end
    stop = sheet.past(start + 1, "minute")
    joined = piece.has("and") and not piece.has("past") and sign > 0 and stop == start + 1
    if joined and not sheet.lexicon.habits.minutes_after_and:
        return 0, end  # at 6 and 18 are two times
    marked = is_marked(sheet, stop) or is_daypart(sheet, stop)
    two_digits = value >= 10 or start > end or sheet.at(start).raw[:1] == "0"
    if sign < 0 or stop > start + 1 or (two_digits and (marked or spoken)):
        if AFTER_HOUR.isdisjoint(sheet.at(stop).senses) or marked:
            return sign * int(value), stop
    return 0, end


def is_daypart(sheet: Sheet, i: int) -> bool:
    """Whether a part of the day follows at `i`."""
    return _daypart_index(sheet, i) is not None


def _daypart_index(sheet: Sheet, i: int) -> int | None:
    """Where the part of the day is that follows at `i`, behind small words (in the, de la, ya)."""
    for j in range(i, i + 3):
        piece = sheet.at(j)
        if "daypart" in piece.senses:
            return j if not piece.used and piece.gap != "." else None
        if not {"of", "in", "article", "on", "within", "day"} & piece.senses.keys():
            return None
    return None


def record(
    sheet: Sheet, hour: int, minutes: int, first: int, end: int, *, exact: bool, named: bool = False
) -> bool:
    """Record the time of this hour, as what stands around it makes it; True."""
    part: tuple[int, int] | None = None
    mark = sheet.at(end)
    if not named and is_marked(sheet, end):
        sign = "am" if "am" in mark.senses else "pm"
        end += 1
        if {"and", "shift"} & sheet.at(end).senses.keys():
            more, stop = minutes_after(sheet, end, spoken=False)
            if not is_marked(sheet, stop):  # 8pm and 6am are two times
                minutes, end = minutes + more, stop
        if hour <= 12:
            hour = hour % 12 + (12 if sign == "pm" else 0)
        return _put(sheet, hour, minutes, first, end)
    if not named and hour <= 12 and is_marked(sheet, first - 1) and sheet.at(first).gap == " ":
        hour = hour % 12 + (12 if "pm" in sheet.at(first - 1).senses else 0)
        return _put(sheet, hour, minutes, first - 1, end)
    after = _daypart_index(sheet, end)
    if after is not None and sheet.at(after).gap == "," and sheet.at(first - 1).has("daypart"):
        after = None  # morning 6, evening 7
    if after is not None:
        part = sheet.at(after).senses["daypart"]
        if not any("day" in sheet.at(k).senses for k in range(end, after + 1)):
            end = after + 1
    elif sheet.at(first - 1).has("daypart") or sheet.at(first - 2).has("daypart"):
        index = first - 1 if sheet.at(first - 1).has("daypart") else first - 2
        part = sheet.at(index).senses["daypart"]
    else:
        part = _nearest_daypart(sheet, first, end)
    if not named:
        hour = _in_part(sheet, hour, first, part, exact=exact)
    return _put(sheet, hour, minutes, first, end)


def _nearest_daypart(sheet: Sheet, first: int, end: int) -> tuple[int, int] | None:
    best: tuple[int, tuple[int, int]] | None = None
    for j in range(max(0, first - _NEAR), min(len(sheet.pieces), end + _NEAR)):
        piece = sheet.pieces[j]
        if "daypart" in piece.senses and not piece.used:
            away = first - j if j < first else j - end
            if best is None or away < best[0]:
                best = away, piece.senses["daypart"]
    return best[1] if best else None


def _in_part(
    sheet: Sheet, hour: int, first: int, part: tuple[int, int] | None, *, exact: bool
) -> int:
    """The hour of 24 that a clock hour means in a part of the day."""
    habits = sheet.lexicon.habits
    said = "dawn" in sheet.at(first).senses or "dawn" in sheet.at(first - 1).senses
    from_dawn = habits.hours_from_dawn and hour <= 12 and (said or not exact)
    base = hour % 12 + 6 if from_dawn else hour
    if hour > 12:
        return hour
    if part is None:
        late = habits.afternoon[0] <= hour <= habits.afternoon[1]
        return base + 12 if late and not (exact or from_dawn) else base
    low, high = part
    for candidate in (base, base + 12, base + 24) if base else (0, 12, 24):
        if low <= candidate <= high or low <= candidate - 24 <= high:
            return candidate % 24
    return base


def _put(sheet: Sheet, hour: int, minutes: int, first: int, end: int) -> bool:
    of_day = (hour * 60 + minutes) % 1440
    sheet.found("time", time(of_day // 60, of_day % 60), first, end)
    return True
