"""Measured amounts and their ranges; numbers that nothing else has taken."""

from __future__ import annotations

from decimal import Decimal

from bot.craft.units import Quantity
from bot.facts import Count, Span
from bot.language.numerals import other_reading
from bot.language.pers import find_pers, is_for_each, paced
from bot.language.pieces import Sheet
from bot.language.reading import Doubt
from bot.language.unit_places import DEGREES, chosen, unit_after, unit_before, unit_place

_LENGTHS = ("metre", "foot", "yard", "centimetre", "inch")
_ONE = Decimal(1)


def find(sheet: Sheet) -> None:
    """Record the quantities of a message, with the ranges and per-amounts around them."""
    for index, piece in enumerate(sheet.pieces):
        if piece.used:
            continue
        if piece.n is not None:
            if not is_for_each(sheet, index):
                _range(sheet, index) or _quantity(sheet, index) or paced(sheet, index)
        elif "unit" in piece.senses:
            _unit_and_a_half(sheet, index)
    find_pers(sheet)


def find_numbers(sheet: Sheet) -> None:
    """Record the numbers that nothing else has taken."""
    for index, piece in enumerate(sheet.pieces):
        if piece.used or piece.n is None or sheet.at(index - 1).raw == "#":
            continue
        if {"suffix"} & sheet.at(index + 1).senses.keys() and sheet.at(index + 1).gap == "":
            continue
        before = sheet.at(index - 1)
        if piece.n == 1 and not piece.raw[:1].isdigit() and "determiner" in before.senses:
            continue
        value = -piece.n if before.raw == "-" and piece.gap == "" and before.gap != "" else piece.n
        if piece.raw.isdigit() and len(piece.raw) >= 3 and piece.raw[-1] == "1":
            litres = Quantity(Decimal(piece.raw[:-1]), "litre")
            sheet.aside("doubt", Doubt("digit", (value, litres)), index, index + 1)
        sheet.found("number", value, index, index + 1)


def _quantity(sheet: Sheet, i: int) -> Quantity | None:
    value = sheet.number(i)
    if value is None or (sheet.at(i - 1).raw == "/" and sheet.at(i - 2).n is not None):
        return None  # 1/0 l
    placed = unit_place(sheet, i)
    if placed is None:
        return None
    unit, first, end = placed
    if first < i and sheet.free(end, "shift") and value >= 1:  # kilo mbili kasoro robo
        value, end = value + Decimal(sheet.at(end).senses["shift"]) / 60, end + 1
    half = sheet.past(end, "and")
    if half > end:
        half = sheet.past(half, "article")
        fraction = sheet.number(half)
        carried = {"unit", "noun", "span"} & sheet.at(half + 1).senses.keys()
        if fraction is not None and fraction < 1 and not carried:
            value, end = value + fraction, half + 1
    minus = sheet.at(first - 1)
    if minus.raw == "-" and sheet.at(first).gap == "" and (minus.gap != "" or first == 1):
        if unit not in DEGREES:
            sheet.at(i).used = True
            return None
        value, first = -value, first - 1
    quantity = Quantity(value, unit)
    other = (
        other_reading(sheet.at(i).raw, sheet.lexicon.habits.decimal) if sheet.at(i).raw else None
    )
    if other is not None:
        sheet.aside("doubt", Doubt("grouping", (quantity, Quantity(other, unit))), first, end)
    sheet.found("quantity", quantity, first, end)
    return quantity


def _unit_and_a_half(sheet: Sheet, i: int) -> bool:
    """Kilo y medio: one unit and a part of it."""
    if sheet.lexicon.habits.unit_first or not sheet.free(i + 1, "and"):
        return False
    half = sheet.past(i + 2, "article")
    fraction = sheet.number(half)
    if fraction is None or fraction >= 1 or "fraction" not in sheet.at(half).senses:
        return False
    if {"unit", "noun", "span"} & sheet.at(half + 1).senses.keys():
        return False
    sheet.found("quantity", Quantity(_ONE + fraction, chosen(sheet, i)), i, half + 1)
    return True


def _range(sheet: Sheet, i: int) -> bool:
    """2-3 litres, between 2 and 3 l, lita 2 hadi 3: both ends carry the unit."""
    joint = sheet.at(i + 1)
    low, high = sheet.number(i), sheet.number(i + 2)
    if low is None or high is None:
        return False
    start = i - 2 if "unit" in sheet.at(i - 1).senses else i - 1
    between = bool({"between", "from"} & sheet.at(start).senses.keys())
    joins = (
        joint.raw == "-"
        or {"to", "or"} & joint.senses.keys()
        or (between and "and" in joint.senses)
    )
    sides = joint.raw == "x" or "by" in joint.senses
    if not (joins or sides) or joint.used:
        return False
    unit_first = sheet.lexicon.habits.unit_first and unit_before(sheet, i)
    if unit_first and not sheet.free(i + 3, "unit"):
        unit, first, _ = unit_first
        end = i + 3
    else:
        placed = unit_after(sheet, i + 2)
        if placed is None:
            return not sides and _counted_range(sheet, i)
        unit, first, end = placed[0], i, placed[2]
    if sides and unit not in _LENGTHS:
        return False
    ends = Quantity(low, unit), Quantity(high, unit)
    sheet.found("quantity", ends[0], first, i + 1)
    sheet.found("quantity", ends[1], i + 1, end)
    if not sides:
        sheet.aside("span", Span(*ends), first, end)
    return True


def _counted_range(sheet: Sheet, i: int) -> bool:
    noun = sheet.at(i + 3)
    low, high = sheet.number(i), sheet.number(i + 2)
    if not noun.has("noun") or low is None or high is None:
        return False
    name = noun.senses["noun"][0]
    sheet.found("count", Count(low, name), i, i + 1)
    sheet.found("count", Count(high, name), i + 1, i + 4)
    return True
