"""Counted things: three tanks, ten tomato plants, two drums and a half."""

from __future__ import annotations

from decimal import Decimal

from bot.facts import Count
from bot.language.pieces import Sheet
from bot.language.unit_places import belongs_on

_ONE = Decimal(1)
_MEASURED = frozenset(("unit", "noun", "span", "multiple"))


def find(sheet: Sheet) -> None:
    """Record the counted things of a message."""
    for index, piece in enumerate(sheet.pieces):
        if not piece.used and piece.n is not None:
            _count(sheet, index, piece.n)
        elif not piece.used and "noun" in piece.senses:
            part, end = _and_half(sheet, index + 1)
            if part:  # bomba y media
                noun = piece.senses["noun"][0]
                sheet.found("count", Count(_ONE + part, noun), index, end)


def _count(sheet: Sheet, i: int, value: Decimal) -> bool:
    """3 tanks, tanki 3, 3 16l tanks, ten tomato plants; a 200 l barrel is a size, not a count."""
    unit_first = sheet.lexicon.habits.unit_first
    if unit_first and sheet.free(i - 1, "noun") and sheet.at(i).gap not in (",", "."):
        return _counted(sheet, value, i - 1, i - 1, i + 1)
    j = i + 1
    if "article" in sheet.at(j).senses or (
        sheet.free(j, "of") and (value != int(value) or value < 1 or value >= 6)
    ):
        j = sheet.past(sheet.past(j, "of"), "article")
    if unit_first and belongs_on(sheet, j, "noun"):
        return False
    if sheet.free(j, "noun") and sheet.at(j).gap not in (",", "."):
        return _counted(sheet, value, j, i, j + 1)
    place = _noun_behind(sheet, j)
    if place is not None:
        noun = sheet.at(place).senses["noun"][0]
        sheet.found("count", Count(value, noun), i, i + 1)
        sheet.at(place).used = True
        return True
    return False


def _noun_behind(sheet: Sheet, j: int) -> int | None:
    """Where the noun is behind one describing word, or behind a size (3 x 16 l tanks)."""
    if sheet.at(j).raw == "x":
        j += 1
    piece = sheet.at(j)
    sized = any(m.kind == "quantity" and m.start == piece.start for m in sheet.mentions)
    if piece.used and sized:
        end = next(m.end for m in sheet.mentions if m.kind == "quantity" and m.start == piece.start)
        k = j
        while k < len(sheet.pieces) and sheet.pieces[k].start < end:
            k += 1
        return k if sheet.free(k, "noun") and sheet.at(k).gap not in (",", ".") else None
    if piece.used or piece.n is not None or piece.gap != " " or len(piece.raw) < 3:
        return None
    if (
        piece.senses.keys() - {"large", "small", "culture", "cue", "water"}
        or not piece.raw.isalpha()
    ):
        return None
    if piece.raw in sheet.lexicon.glue:
        return None
    return j + 1 if sheet.free(j + 1, "noun") and sheet.at(j + 1).gap == " " else None


def _counted(sheet: Sheet, value: Decimal, noun: int, first: int, end: int) -> bool:
    part, end = _and_half(sheet, end)
    sheet.found("count", Count(value + part, sheet.at(noun).senses["noun"][0]), first, end)
    return True


def _and_half(sheet: Sheet, end: int) -> tuple[Decimal, int]:
    """What goes on behind a counted noun, and where it ends: two drums and a half (of dung)."""
    half = sheet.past(sheet.past(end, "and"), "article") if sheet.free(end, "and") else end
    part = sheet.number(half)
    if half == end or part is None or part >= 1 or "fraction" not in sheet.at(half).senses:
        return Decimal(0), end
    follows = sheet.past(half + 1, "of")
    if _MEASURED.isdisjoint(sheet.at(follows).senses):
        return part, half + 1
    return Decimal(0), end  # two drums and half a litre
