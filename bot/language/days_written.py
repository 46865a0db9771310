"""Days written as day and month, in words or digits: 5 march, 17/2, 1.5.2025, the 15th."""

from __future__ import annotations

import re
from collections.abc import Set as AbstractSet
from datetime import date

from bot.language.day_parts import (
    day_of,
    day_of_month,
    nearest_year,
    record,
    suffix,
    with_weekday_after,
    with_weekday_before,
    year_after,
    year_of,
)
from bot.language.pieces import END, Sheet
from bot.language.weekdays import on_weekday

_DATE_DIGITS = re.compile(r"(\d{1,4})\.(\d{1,2})(?:\.(\d{2,4}))?")
_RUN = re.compile(r"(20\d\d)(0[1-9]|1[0-2])([0-3]\d)")


def with_month(sheet: Sheet, i: int, today: date, tense: str) -> bool:
    """5 March, March 5th, first of March, 5-mar-2026, 2026/mar/5."""
    month = sheet.at(i).senses["month"]
    before = i - 1
    while sheet.at(before).n is None and (
        sheet.at(before).raw == "/"
        or "of" in sheet.at(before).senses
        or "ordinal_day" in sheet.at(before).senses
        or suffix(sheet, before)
    ):
        before -= 1
    day = day_of_month(sheet, before)
    end = i + 1
    if day is None:
        return _month_first(sheet, i, month, today, tense)
    first = before
    year, end = year_after(sheet, end)
    found = day_of(year, month, day) if year else nearest_year(month, day, today, tense)
    end = with_weekday_after(sheet, end)
    if not record(sheet, found, with_weekday_before(sheet, first), end):
        return False
    _listed_before(sheet, first, found, day)
    return True


def _listed_before(sheet: Sheet, first: int, last_day: date | None, day: int) -> None:
    """The 5th and 6th of march: the day before `and` is of the same month."""
    joint = sheet.at(first - 1)
    if joint.used or "and" not in joint.senses or last_day is None:
        return
    place = first - 3 if suffix(sheet, first - 2) else first - 2
    if {"from", "between"} & sheet.at(place - 1).senses.keys():
        return  # from the 5th to the 6th is no two days
    earlier = day_of_month(sheet, place)
    if earlier is not None and earlier < day and sheet.at(place).n is not None:
        record(sheet, day_of(last_day.year, last_day.month, earlier), place, first - 1)


def _of_month(sheet: Sheet, i: int, today: date) -> bool:
    """20th of this month, le premier du mois prochain, el 15 de este mes."""
    day = day_of_month(sheet, i)
    j = i + 1
    while suffix(sheet, j):
        j += 1
    start, shift, said_of = j, None, False
    while not sheet.at(j).has("span"):
        piece = sheet.at(j)
        near = _SHIFTS & piece.senses.keys()
        if near:
            shift = _shift(near)
        elif {"of", "in", "article", "on"} & piece.senses.keys() and j - i < 5:
            said_of = said_of or "of" in piece.senses
        else:
            return False
        j += 1
    if day is None or j == start or sheet.at(j).senses["span"] != (1, "month"):
        return False
    end, after = j + 1, _SHIFTS & sheet.at(j + 1).senses.keys()
    if after and shift is None:
        shift, end = _shift(after), j + 2
    if shift is None and not said_of:
        return False
    total = today.year * 12 + today.month - 1 + (shift or 0)
    first = i - 1 if {"on", "ordinal_day"} & sheet.at(i - 1).senses.keys() else i
    return record(sheet, day_of(total // 12, total % 12 + 1, day), first, end)


_SHIFTS = frozenset(("next", "last", "this"))


def _shift(roles: AbstractSet[str]) -> int:
    return 1 if "next" in roles else -1 if "last" in roles else 0


def _month_first(sheet: Sheet, i: int, month: int, today: date, tense: str) -> bool:
    j = i + 1
    while sheet.at(j).raw in ("/", "-") or (
        "article" in sheet.at(j).senses and sheet.at(j).n is None
    ):
        j += 1
    day = day_of_month(sheet, j)
    if day is None or {"unit", "noun", "span", "am", "pm"} & sheet.at(j + 1).senses.keys():
        return False
    if sheet.at(j + 1).raw in (":", "%", "°"):
        return False
    first = i
    end = j + 1
    while suffix(sheet, end):
        end += 1
    year, end = year_after(sheet, end)
    if year is None and sheet.at(i - 1).raw == "/" and year_of(sheet.number(i - 2), ""):
        year, first = year_of(sheet.number(i - 2), ""), i - 2
    found = day_of(year, month, day) if year else nearest_year(month, day, today, tense)
    return record(sheet, found, with_weekday_before(sheet, first), with_weekday_after(sheet, end))


def in_digits(sheet: Sheet, i: int, today: date, tense: str) -> bool:
    """17/2, 1.5.2025, 2026-03-04, 20260304, the 15th."""
    piece = sheet.at(i)
    run = _RUN.fullmatch(piece.raw)
    if run:
        return record(sheet, day_of(int(run[1]), int(run[2]), int(run[3])), i, i + 1)
    dotted = _DATE_DIGITS.fullmatch(piece.raw)
    if dotted and _dotted(sheet, i, dotted, today, tense):
        return True
    second, third = sheet.at(i + 1), sheet.at(i + 3)
    if piece.n is not None and second.raw in ("/", "-") and sheet.number(i + 2) is not None:
        if third.raw == second.raw and sheet.number(i + 4) is not None:
            parts = tuple(sheet.at(k).raw for k in (i, i + 2, i + 4))
            after = sheet.at(i + 5)
            if all(part.isdigit() for part in parts) and after.raw != second.raw:
                return record(sheet, _three(parts, sheet), with_weekday_before(sheet, i), i + 5)
            return False
        return _two(sheet, i, today, tense)
    if "/" in piece.raw and _cued(sheet, i):
        top, _, low = piece.raw.partition("//")
        return _pair(sheet, top, low, i, i + 1, today, tense)
    return _alone(sheet, i, today, tense)


def _cued(sheet: Sheet, i: int) -> bool:
    """Whether the words before digits make them a date."""
    before = sheet.at(i - 1)
    return bool({"on", "weekday", "day", "this", "next", "ordinal_day"} & before.senses.keys())


def _three(parts: tuple[str, ...], sheet: Sheet) -> date | None:
    one, two, three = (int(part) for part in parts)
    if len(parts[0]) == 4:
        return day_of(one, two, three) or day_of(one, three, two)
    if len(parts[2]) not in (2, 4):
        return None
    year = three if len(parts[2]) == 4 else three + (1900 if three >= 40 else 2000)
    return _ordered(year, one, two, sheet)


def _ordered(year: int, one: int, two: int, sheet: Sheet) -> date | None:
    if sheet.lexicon.habits.day_first:
        return day_of(year, two, one) or day_of(year, one, two)
    return day_of(year, one, two) or day_of(year, two, one)


def _dotted(sheet: Sheet, i: int, form: re.Match[str], today: date, tense: str) -> bool:
    """1.5.2025, 23.08., 11.9. - and 7.6 only after a word that asks for a date."""
    one, two, three = form.groups()
    if three is not None:
        if len(one) > 2 and len(one) != 4:
            return False
        return record(sheet, _three((one, two, three), sheet), i, i + 1)
    after = sheet.at(i + 1)
    stopped = (after.gap == "." and not after.used) or i + 1 == len(sheet.pieces)
    weekday = "weekday" in sheet.at(i - 1).senses
    two_digits = len(two) == 2 and len(one) == 2
    if not (weekday or (_cued(sheet, i) and stopped) or (sheet.free(i - 1, "on") and two_digits)):
        return False
    if {"unit", "noun", "span"} & after.senses.keys():
        return False
    return _pair(sheet, one, two, i, i + 1, today, tense)


def _pair(sheet: Sheet, one: str, two: str, first: int, end: int, today: date, tense: str) -> bool:
    if not (one.isdigit() and two.isdigit() and len(one) <= 2 and len(two) <= 2):
        return False
    placed = _ordered(2024, int(one), int(two), sheet)  # a leap year, so that 29/2 is a day
    if placed is None:
        return False
    found = nearest_year(placed.month, placed.day, today, tense)
    start = with_weekday_before(sheet, first)
    return record(sheet, found, start, with_weekday_after(sheet, end))


def _two(sheet: Sheet, i: int, today: date, tense: str) -> bool:
    """17/2; a dash needs a word that asks for a date: el 4-22."""
    if sheet.at(i + 3).raw in ("/", "-", ":") or sheet.at(i - 1).raw in ("/", ":", "+"):
        return False
    if {"unit", "noun", "span", "of", "parts"} & sheet.at(i + 3).senses.keys():
        return False
    if sheet.at(i + 1).raw == "-" and not _cued(sheet, i):
        return False
    return _pair(sheet, sheet.at(i).raw, sheet.at(i + 2).raw, i, i + 3, today, tense)


def _spelt(sheet: Sheet, i: int, first: int, today: date, tense: str) -> bool:
    """El 17 del 11, 9 de 8 de 1971, le 20 02 14: day, month and year one after the other."""
    j = i + 1
    while {"of", "on"} & sheet.at(j).senses.keys() and sheet.at(j).n is None:
        j += 1
    month = sheet.number(j)
    if month is None or month != int(month) or not 1 <= month <= 12 or sheet.at(j).gap == ",":
        return False
    year, end = year_after(sheet, j + 1)
    if j == i + 1 and year is None:
        return False
    if {"unit", "noun", "span", "oclock"} & sheet.at(j + 1).senses.keys():
        return False
    day = int(sheet.at(i).n or 0)
    found = day_of(year, int(month), day) if year else nearest_year(int(month), day, today, tense)
    return record(sheet, found, first, end)


def _alone(sheet: Sheet, i: int, today: date, tense: str) -> bool:
    """The 15th, el 17, 15 tarikh, dia 20: a day of this month or the next."""
    day = day_of_month(sheet, i)
    if day is None:
        return False
    before, after = sheet.at(i - 1), sheet.at(i + 1)
    if "each" in before.senses and not sheet.at(i).raw[:1].isdigit():
        return False  # har ek ko: to each one
    busy = {
        "unit",
        "noun",
        "span",
        "month",
        "oclock",
        "am",
        "pm",
        "parts",
        "multiple",
        "fraction",
        "per",
    }
    if "ordinal" in sheet.at(i).senses and after.has("weekday"):
        return on_weekday(sheet, i + 1, today, tense)
    if sheet.number(i - 2) is not None and before.has("by"):
        return False
    suffixed = suffix(sheet, i + 1)
    end = i + 2 if suffixed else i + 1
    if "span" in sheet.roles and _of_month(sheet, i, today):
        return True
    if suffixed and after.raw == "°" and after.gap == ".":
        after = sheet.at(end)  # 4.º is a day, 4° may be a temperature
    if sheet.at(end).senses.keys() & busy or after.raw in ("/", ":", "%", "°", "x", "+"):
        return False
    hour = "at" in after.senses and (
        "oclock" in sheet.at(i + 3).senses or sheet.at(i + 3).raw == ":"
    )
    if ("to" in after.senses and not hour) or after.raw == "-":
        return False
    strong = "ordinal_day" in before.senses or "on_after" in after.senses
    if "on_after" in after.senses:
        end = i + 2
    if not (strong or suffixed or ("on" in before.senses and sheet.at(i).n is not None)):
        return False
    follows = sheet.at(end)
    if suffixed and not strong and "on" not in before.senses and follows is not END:
        if not {"at", "daypart", "day", "weekday", "clock"} & follows.senses.keys():
            return False  # the 2nd round
    first = i - 1 if {"on", "ordinal_day"} & before.senses.keys() and not before.used else i
    weekday = with_weekday_before(sheet, first)
    if weekday < first and "weekday" in sheet.at(weekday).senses:
        return on_weekday(sheet, weekday, today, tense)
    if _spelt(sheet, i, first, today, tense):
        return True
    for months in (0, -1) if tense == "past" else (0, 1, 2):
        total = today.year * 12 + today.month - 1 + months
        candidate = day_of(total // 12, total % 12 + 1, day)
        if candidate and ((candidate <= today) if tense == "past" else (candidate >= today)):
            return record(sheet, candidate, first, end)
    return False
