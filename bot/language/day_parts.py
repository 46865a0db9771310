"""What all rules for dates share: which day is meant, and what belongs to it left and right."""

from __future__ import annotations

from calendar import monthrange
from datetime import date
from decimal import Decimal

from bot.language.pieces import Sheet

JUST_GONE = 31
"""Days: a day and month gone this recently is not meant for next year."""


def record(sheet: Sheet, day: date | None, first: int, end: int) -> bool:
    """Whether there is such a day; records it over pieces `first` to `end`, once if said twice."""
    if day is None:
        return False
    start = sheet.pieces[first].start
    for mention in sheet.mentions:  # tomorrow, Friday: one date said twice
        if mention.kind == "date" and mention.value == day:
            if start == mention.end or mention.start == sheet.pieces[end - 1].end:
                for piece in sheet.pieces[first:end]:
                    piece.used = True
                return True
    sheet.found("date", day, first, end)
    return True


def day_of(year: int, month: int, day: int) -> date | None:
    """The day, or None where the calendar has none."""
    if not 1 <= month <= 12 or not 1 <= year <= 9998 or not 1 <= day <= monthrange(year, month)[1]:
        return None
    return date(year, month, day)


def nearest_year(month: int, day: int, today: date, tense: str) -> date | None:
    """The year that a day and month without one means."""
    for years in (0, 1, 2, 3, 4) if tense != "past" else (0, -1, -2, -3, -4):
        candidate = day_of(today.year + years, month, day)
        if candidate is None:
            continue
        away = (candidate - today).days
        if tense == "past" and away <= 0:
            return candidate
        if tense != "past" and away >= (0 if tense == "future" else -JUST_GONE):
            return candidate
    return None


def year_of(piece_n: Decimal | None, raw: str) -> int | None:
    """The year a number after day and month means: 2026, 26."""
    if piece_n is None or piece_n != int(piece_n):
        return None
    value = int(piece_n)
    if 1900 <= value <= 2100:
        return value
    if len(raw) == 2 and raw.isdigit():
        return 1900 + value if value >= 40 else 2000 + value
    return None


def day_of_month(sheet: Sheet, i: int) -> int | None:
    """The day a piece can be: 5, five, 5th, first; None where it is none."""
    piece = sheet.at(i)
    if piece.used:
        return None
    value = piece.senses.get("ordinal", piece.n)
    if value is None or value != int(value) or not 1 <= value <= 31:
        return None
    return int(value)


def suffix(sheet: Sheet, i: int) -> bool:
    """Whether an ending of a day of the month stands there: th, st, °."""
    piece = sheet.at(i)
    return piece.has("suffix") and piece.gap in ("", ".", "-")


def year_after(sheet: Sheet, end: int) -> tuple[int | None, int]:
    """The year that follows a day and month, or None, and where it ends."""
    j = end
    while ({"of", "on"} & sheet.at(j).senses.keys() and not sheet.at(j).used) or sheet.at(
        j
    ).raw in ("/", "-", "'"):
        j += 1
    piece = sheet.at(j)
    if piece.used or {"unit", "noun", "span", "oclock", "am", "pm"} & sheet.at(j + 1).senses.keys():
        return None, end
    year = year_of(piece.n, piece.raw)
    if year is not None and year < 2000 and len(piece.raw) == 2 and j == end and piece.gap == " ":
        return None, end
    return (year, j + 1) if year is not None else (None, end)


def with_weekday_before(sheet: Sheet, first: int) -> int:
    """Where a date begins with the weekday before it, if one stands there."""
    j = first - 1
    while (
        j >= 0
        and sheet.at(j).n is None
        and not sheet.at(j).used
        and ({"article", "of", "on", "ordinal_day"} & sheet.at(j).senses.keys())
    ):
        j -= 1
    if sheet.at(j).has("weekday"):
        return j - 1 if {"this", "next"} & sheet.at(j - 1).senses.keys() else j
    return first


def with_weekday_after(sheet: Sheet, end: int) -> int:
    """Where a date ends with the weekday behind it, if one stands there."""
    return end + 1 if sheet.at(end).has("weekday") else end
