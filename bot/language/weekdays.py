"""Weekdays: on friday, next monday, friday of next week, the second monday of may, friday 13."""

from __future__ import annotations

from calendar import monthrange
from datetime import date, timedelta
from decimal import Decimal

from bot.language.day_parts import day_of, day_of_month, record, suffix, year_after
from bot.language.pieces import Sheet


def on_weekday(sheet: Sheet, i: int, today: date, tense: str) -> bool:
    """The day a weekday means: the next one, or the last by the tense and the words beside it."""
    piece = sheet.at(i)
    weekday: int = piece.senses["weekday"]
    nth = _nth_of_month(sheet, i, today)
    if nth:
        return record(sheet, *nth)
    number = _beside_weekday(sheet, i)
    if number:
        day, first, end = number
        return record(sheet, _weekday_and_day(weekday, day, today, tense), first, end)
    if piece.has("weak") and not _sure_weekday(sheet, i):
        return False
    ahead = (weekday - today.weekday()) % 7
    before, after = sheet.at(i - 1), sheet.at(i + 1)
    first, end = i, i + 1
    week = _week(sheet, i)
    if week is not None:
        weeks, first, end = week
        monday = today - timedelta(days=today.weekday())
        return record(sheet, monday + timedelta(days=7 * weeks + weekday), first, end)
    if after.has("week_on") or after.has("two_weeks_on"):  # lundi en huit
        weeks_on = 1 if after.has("week_on") else 2
        return record(sheet, today + timedelta(days=ahead + 7 * weeks_on), i, i + 2)
    next_word = before.has("next") or after.has("next")
    if before.has("next") or before.has("last") or before.has("this"):
        first = i - 1
    elif after.has("next") or after.has("last"):
        end = i + 2
    if (
        "last" in sheet.at(first).senses
        or "last" in sheet.at(end - 1).senses
        or (tense == "past" and not next_word)
    ):
        back = (today.weekday() - weekday) % 7 or 7
        return record(sheet, today - timedelta(days=back), first, end)
    times = sheet.number(i - 1)
    if times is not None and 1 <= times <= 52 and (after.has("from_now") or after.has("after")):
        return record(
            sheet, today + timedelta(days=(ahead or 7) + 7 * int(times - 1)), i - 1, i + 2
        )
    this = {"this", "last"} & (before.senses.keys() | after.senses.keys())
    if next_word and not this and "this" not in sheet.at(i - 2).senses:
        monday = today + timedelta(days=7 - today.weekday())
        return record(sheet, monday + timedelta(days=weekday), first, end)
    return record(sheet, today + timedelta(days=ahead or 7), first, end)


def _nth_of_month(sheet: Sheet, i: int, today: date) -> tuple[date | None, int, int] | None:
    """Second Monday of next month, first Wednesday of October 2026, last Friday of May."""
    before = sheet.at(i - 1)
    nth = before.senses.get("ordinal") or (-1 if "last" in before.senses else None)
    j = i + 1
    while {"of", "article", "this", "next", "in"} & sheet.at(j).senses.keys():
        j += 1
    if nth is None or before.used or j == i + 1:
        return None
    piece = sheet.at(j)
    if piece.has("month"):
        year, end = year_after(sheet, j + 1)
        month = piece.senses["month"]
        year = year or (today.year if month >= today.month else today.year + 1)
    elif piece.has("span") and piece.senses["span"][1] == "month":
        ahead = any("next" in sheet.at(k).senses for k in range(i + 1, j + 2))
        total = today.year * 12 + today.month - 1 + ahead
        year, month, end = total // 12, total % 12 + 1, j + 1
    else:
        return None
    weekday, length = sheet.at(i).senses["weekday"], monthrange(year, month)[1]
    first_day = 1 + (weekday - date(year, month, 1).weekday()) % 7
    days = list(range(first_day, length + 1, 7))
    place = nth - 1 if nth > 0 else -1
    return (date(year, month, days[place]) if place < len(days) else None), i - 1, end


def _sure_weekday(sheet: Sheet, i: int) -> bool:
    around = (sheet.at(i - 1), sheet.at(i + 1))
    if len(sheet.pieces) <= 2 or (sheet.at(i + 1).gap == "." and i == 0):
        return True
    return any(
        {"on", "at", "next", "last", "daypart", "this", "day"} & p.senses.keys() for p in around
    )


def _week(sheet: Sheet, i: int) -> tuple[int, int, int] | None:
    """Weeks from this one for a weekday of next week, and where the words stand."""
    for start, step in ((i + 1, 1), (i - 1, -1)):
        j, shift, week, taken = start, None, False, start
        for _ in range(5):
            piece = sheet.at(j)
            if piece.used or (piece.n is not None and "article" not in piece.senses):
                break
            if piece.has("span") and piece.senses["span"] == (Decimal(1), "week"):
                week, taken = True, j
            elif piece.has("next"):
                shift, taken = 1, j
            elif piece.has("last"):
                shift, taken = -1, j
            elif piece.has("this"):
                shift, taken = 0, j
            elif not {"of", "article", "on", "in"} & piece.senses.keys():
                break
            j += step
        if week and shift is not None:
            return (shift, i, taken + 1) if step == 1 else (shift, taken, i + 1)
    return None


def _beside_weekday(sheet: Sheet, i: int) -> tuple[int, int, int] | None:
    """The day of the month said with a weekday: friday 13, Thu 15th, martes once."""
    j = i + 1
    while sheet.at(j).n is None and {"article", "ordinal_day", "on"} & sheet.at(j).senses.keys():
        j += 1
    day = day_of_month(sheet, j)
    counted = sheet.at(i - 1).n is not None and "habitual" not in sheet.at(i).senses
    if day is None and sheet.at(i).gap == " " and counted:
        day = day_of_month(sheet, i - 1)
        busy = {"from_now", "after", "each"} & sheet.at(i + 1).senses.keys()
        return None if day is None or busy else (day, i - 1, i + 1)
    if day is None or sheet.at(j).raw[:1] == "0":
        return None
    after = sheet.at(j + 1)
    ordinal = suffix(sheet, j + 1) or "ordinal" in sheet.at(j).senses
    if ordinal:
        end = j + 2 if suffix(sheet, j + 1) else j + 1
        return day, i, end
    busy = {
        "unit",
        "noun",
        "span",
        "oclock",
        "am",
        "pm",
        "month",
        "daypart",
        "to",
        "parts",
        "minus",
        "multiple",
    }
    if busy & after.senses.keys() or after.raw in (":", "/", "-", "%", "°", "x"):
        return None
    if sheet.at(j).gap == "," and j == i + 1:
        return None
    return (
        (day, i, j + 1) if day > 12 or (j > i + 1 and "on" not in sheet.at(j - 1).senses) else None
    )


def _weekday_and_day(weekday: int, day: int, today: date, tense: str) -> date | None:
    """The next day of the month with that number that falls on the weekday (past: the last)."""
    step = -1 if tense == "past" else 1
    months = range(today.month - 1, today.month - 1 + 30 * step, step)
    candidates = (day_of(today.year + month // 12, month % 12 + 1, day) for month in months)
    return next(
        (c for c in candidates if c and c.weekday() == weekday and (c - today).days * step >= 0),
        None,
    )
