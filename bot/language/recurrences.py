"""How often: every 10 days, weekly, har hafte."""

from __future__ import annotations

from decimal import Decimal

from bot.facts import Duration, Every
from bot.language.pieces import Sheet

_ONE = Decimal(1)
_SMALLER = {
    "week": (7, "day"),
    "year": (12, "month"),
    "month": (30, "day"),
    "day": (24, "hour"),
    "hour": (60, "minute"),
}


def find_every(sheet: Sheet) -> None:
    """Record the recurrences of a message."""
    for index, piece in enumerate(sheet.pieces):
        if piece.used:
            continue
        if {"times", "twice"} & piece.senses.keys() and _times(sheet, index):
            continue
        if "rate" in piece.senses:
            n, unit = piece.senses["rate"]
            after = sheet.number(index + 1)
            if after is not None and sheet.lexicon.habits.unit_first:
                _rate_or_length(sheet, index, n * after, unit)
            else:
                _record(sheet, n, unit, index, index + 1)
        elif piece.n is not None:
            _from_to(sheet, index)
        elif "each" in piece.senses:
            _each(sheet, index)
        elif "once" in piece.senses:
            _once(sheet, index)
        elif "interval" in piece.senses:
            _interval(sheet, index)
        elif "habitual" in piece.senses and not {"next", "last", "this"} & (
            sheet.at(index - 1).senses.keys() | sheet.at(index + 1).senses.keys()
        ):
            if sheet.number(index - 1) is None:
                _record(sheet, _ONE, "week", index, index + 1)


def _record(sheet: Sheet, n: Decimal, unit: str, first: int, end: int) -> bool:
    if n <= 0:
        return False
    if n != int(n):  # half a year is six months
        times, smaller = _SMALLER.get(unit, (1, unit))
        if n * times != int(n * times):
            return False
        n, unit = n * times, smaller
    sheet.found("every", Every(int(n), unit), first, end)
    return True


def _rate_or_length(sheet: Sheet, i: int, n: Decimal, unit: str) -> None:
    """Kwa wiki mbili is for two weeks; behind "once" it is how often."""
    if sheet.free(i - 1, "once"):
        _record(sheet, n, unit, i - 1, i + 2)
    else:
        sheet.found("duration", Duration(n, unit), i, i + 2)


def _each(sheet: Sheet, i: int) -> bool:
    j = i + 1
    if "whole" in sheet.at(i).senses and "article" in sheet.at(j).senses:
        return False  # with an article: all the day (toda a semana)
    while (
        (sheet.at(j).has("article") and sheet.at(j).n is None)
        or sheet.at(j).has("after")
        or sheet.at(j).has("of")
    ):
        j += 1
    if sheet.free(j, "other"):
        j, second = j + 1, True
    else:
        second = "ordinal" in sheet.at(j).senses and sheet.at(j).senses["ordinal"] == 2
        if second and "span" in sheet.at(j + 1).senses:
            j += 1
    piece = sheet.at(j)
    value = sheet.number(j)
    nth = piece.senses.get("ordinal")
    if nth and not second and sheet.free(j + 1, "span"):  # every third day
        n, unit = sheet.at(j + 1).senses["span"]
        return _record(sheet, n * nth, unit, i, j + 2)
    if value is not None:
        return _numbered(sheet, i, j, value)
    if piece.has("span"):
        n, unit = piece.senses["span"]
        after = sheet.number(j + 1)
        if after is not None and sheet.lexicon.habits.unit_first:
            return _record(sheet, after * n, unit, i, j + 2)
        return _record(sheet, n * (2 if second else 1), unit, i, j + 1)
    if piece.has("weekday"):
        end = j + 1
        while (more := sheet.past(end, "and")) > end and sheet.free(more, "weekday"):
            end = more + 1  # every Monday and Thursday
        return _record(sheet, Decimal(2 if second else 1), "week", i, end)
    if piece.has("daypart") or ("day" in piece.senses and not piece.used):
        # Cada mañana: the morning stays for the clock, tomorrow does not.
        piece.used = "day" in piece.senses
        return _record(sheet, _ONE, "day", i, i + 1)
    return False


def _from_to(sheet: Sheet, i: int) -> bool:
    """De 10 en 10 días: the same number twice."""
    value, joint = sheet.number(i), sheet.at(i + 1)
    if value is None or sheet.number(i + 2) != value or not sheet.free(i + 3, "span"):
        return False
    if not {"in", "within"} & joint.senses.keys():
        return False
    n, unit = sheet.at(i + 3).senses["span"]
    return _record(sheet, value * n, unit, i, i + 4)


def _numbered(sheet: Sheet, i: int, j: int, value: Decimal) -> bool:
    """Every 10 days, every 7 to 10 days."""
    end, high = j + 1, None
    if sheet.at(j + 1).raw == "-" or {"to", "or"} & sheet.at(j + 1).senses.keys():
        high = sheet.number(j + 2)
        end = j + 3 if high is not None else end
    if high is None and "suffix" in sheet.at(end).senses:
        return _day_of_each(sheet, i, end + 1)
    end = sheet.past(end, "of")
    if sheet.free(end, "span"):
        n, unit = sheet.at(end).senses["span"]
        if high is not None and _record(sheet, value * n, unit, i, j + 1):
            return _record(sheet, high * n, unit, j + 1, end + 1)
        minutes = sheet.number(end + 1)
        if unit == "hour" and minutes is not None and sheet.at(end + 1).gap == "":
            return _record(sheet, value * 60 + minutes, "minute", i, end + 2)  # every 2h30
        return _record(sheet, value * n, unit, i, end + 1)
    return False


def _day_of_each(sheet: Sheet, i: int, end: int) -> bool:
    """Every 1st of the month comes back each month."""
    while {"of", "article", "each"} & sheet.at(end).senses.keys() and not sheet.at(end).used:
        end += 1
    if sheet.free(end, "span") and sheet.at(end).senses["span"] == (1, "month"):
        return _record(sheet, _ONE, "month", i, end + 1)
    return False


def _once(sheet: Sheet, i: int) -> bool:
    """Once a week, din mein ek baar, once in 10 days."""
    j = i + 1
    while {"rate_of", "per", "article", "in", "within", "of", "each"} & sheet.at(j).senses.keys():
        if sheet.at(j).n is not None:
            break
        j += 1
    value = sheet.number(j)
    if value is not None and sheet.free(j + 1, "span"):
        n, unit = sheet.at(j + 1).senses["span"]
        return _record(sheet, value * n, unit, i, j + 2)
    if sheet.free(j, "span") and j > i + 1:
        n, unit = sheet.at(j).senses["span"]
        after = sheet.number(j + 1)
        if sheet.lexicon.habits.unit_first and after is not None:
            return _record(sheet, n * after, unit, i, j + 2)
        return _record(sheet, n, unit, i, j + 1)
    back = i - 1
    while {"rate_of", "per", "in", "within", "of"} & sheet.at(back).senses.keys():
        back -= 1
    if sheet.free(back, "span") and back < i:
        n, unit = sheet.at(back).senses["span"]
        first = back
        value = sheet.number(back - 1)
        if value is not None:
            n, first = n * value, back - 1
        return _record(sheet, n, unit, first, i + 1)
    return False


def _times(sheet: Sheet, i: int) -> bool:
    """Twice a week, three times a day, din mein do baar, mara mbili kwa wiki."""
    first, end = i, i + 1
    times: Decimal | None = Decimal(2)
    if "twice" not in sheet.at(i).senses:
        if sheet.lexicon.habits.unit_first:
            times, end = sheet.number(i + 1), i + 2
        else:
            times, first = sheet.number(i - 1), i - 1
    if times is None or times != int(times) or not 1 <= times <= 24:
        return False
    span = _joined(sheet, end, 1)
    if span > end and sheet.free(span, "span"):
        n, unit = sheet.at(span).senses["span"]
        return _shared(sheet, n, unit, times, first, span + 1)
    if "rate" in sheet.at(end).senses and not sheet.at(end).used:  # kwa wiki, daily
        n, unit = sheet.at(end).senses["rate"]
        return _shared(sheet, n, unit, times, first, end + 1)
    span = _joined(sheet, first - 1, -1)
    if span < first - 1 and sheet.free(span, "span") and sheet.number(span - 1) is None:
        n, unit = sheet.at(span).senses["span"]
        return _shared(sheet, n, unit, times, span, end)
    return False


def _shared(sheet: Sheet, n: Decimal, unit: str, times: Decimal, first: int, end: int) -> bool:
    """A span shared out among so many times, in a unit that divides it whole."""
    while n % times and unit in _SMALLER:
        size, unit = _SMALLER[unit]
        n *= size
    return not n % times and _record(sheet, n / times, unit, first, end)


def _joined(sheet: Sheet, i: int, step: int) -> int:
    """The place after the small words between so many times and their span."""
    joins = {"rate_of", "per", "article", "in", "within", "each"}
    while joins & sheet.at(i).senses.keys() and "span" not in sheet.at(i).senses:
        i += step
    return i


def _interval(sheet: Sheet, i: int) -> bool:
    """10 days apart, interval of 10 days."""
    if sheet.free(i - 1, "span") and sheet.number(i - 2) is not None:
        n, unit = sheet.at(i - 1).senses["span"]
        return _record(sheet, n * (sheet.number(i - 2) or _ONE), unit, i - 2, i + 1)
    j = sheet.past(i + 1, "of")
    value = sheet.number(j)
    if value is not None and sheet.free(j + 1, "span"):
        n, unit = sheet.at(j + 1).senses["span"]
        return _record(sheet, n * value, unit, i, j + 2)
    return False
