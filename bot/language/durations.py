"""How long: 7 days, an hour and a half, two weeks old."""

from __future__ import annotations

from decimal import Decimal

from bot.facts import Duration
from bot.language.pieces import Sheet


def find(sheet: Sheet) -> None:
    """Record the lengths of time that are left when dates and recurrences are known."""
    for index in range(len(sheet.pieces)):
        length = length_at(sheet, index)
        if length:
            value, unit, first, end = length
            _length(sheet, value, unit, first, end)


def _length(sheet: Sheet, value: Decimal, unit: str, first: int, end: int) -> None:
    old = sheet.free(end, "old")
    sheet.found("duration", Duration(value, unit), first, end)
    if old or sheet.free(first - 1, "old"):
        sheet.aside("age", Duration(value, unit), first, end)
    follows = sheet.past(end, "and")
    minutes = sheet.number(follows)
    if unit == "hour" and minutes is not None and 0 < minutes < 60:
        if sheet.at(follows + 1).senses.keys().isdisjoint(("unit", "span", "noun", "fraction")):
            sheet.found("duration", Duration(minutes, "minute"), follows, follows + 1)


def length_at(sheet: Sheet, i: int) -> tuple[Decimal, str, int, int] | None:
    """A length of time whose number, or span without one, stands at `i`: value, unit, place."""
    value = sheet.number(i)
    if value is not None:
        return _counted(sheet, i, value)
    piece = sheet.at(i)
    if piece.used or "span" not in piece.senses:
        return None
    n, unit = piece.senses["span"]
    if "whole" in sheet.at(i - 1).senses or "whole" in sheet.at(i + 1).senses:
        first = i - 1 if "whole" in sheet.at(i - 1).senses else i
        return n, unit, first, i + 1
    if "article" in sheet.at(i - 1).senses and "whole" in sheet.at(i - 2).senses:
        return n, unit, i - 2, i + 1
    half = sheet.past(sheet.past(i + 1, "and"), "article")
    fraction = sheet.number(half)
    if half > i + 1 and "fraction" in sheet.at(half).senses and fraction and fraction < 1:
        return n * (1 + fraction), unit, i, half + 1
    if n != 1 and sheet.number(i + 1) is None and "alone" in piece.senses:
        return n, unit, i, i + 1
    return None


def _counted(sheet: Sheet, i: int, value: Decimal) -> tuple[Decimal, str, int, int] | None:
    if sheet.lexicon.habits.unit_first and sheet.free(i - 1, "span"):
        n, unit = sheet.at(i - 1).senses["span"]
        return value * n, unit, i - 1, i + 1
    j = i + 1
    if sheet.free(j, "of") and (value < 1 or value != int(value)):
        j = sheet.past(j + 1, "article")
    elif value == Decimal("0.5"):
        j = sheet.past(j, "article")
    if not sheet.free(j, "span") or sheet.at(j).gap in (",", "."):
        return None
    if "tentative" in sheet.at(j).senses and sheet.at(j).gap != "":
        if j + 1 < len(sheet.pieces) and sheet.at(j + 1).gap != ".":
            return None  # only glued to its number, or at the end: 5d, hace 5 d
    if "ordinal" in sheet.at(j).senses and "article" in sheet.at(i).senses:
        return None  # a second round
    n, unit = sheet.at(j).senses["span"]
    end = j + 1
    half = sheet.past(end, "and")
    half = sheet.past(half, "article") if half > end else half
    if half > end and sheet.at(half).n is not None:
        fraction = sheet.number(half)
        if (
            fraction is not None
            and fraction < 1
            and not {"unit", "span", "noun"} & sheet.at(half + 1).senses.keys()
        ):
            value, end = value + fraction, half + 1
    return value * n, unit, i, end
