"""Mixing ratios: culture parts to water parts, in every spelling."""

from __future__ import annotations

from decimal import Decimal

from bot.facts import Ratio
from bot.language.pieces import Sheet
from bot.language.reading import Doubt

_REACH = 6  # pieces between the two parts of "1 part culture, 20 parts water"


def find(sheet: Sheet) -> None:
    """Record the ratios of a message; a time such as 6:30 is left for the clock."""
    for index, piece in enumerate(sheet.pieces):
        if piece.used:
            continue
        if "parts" in piece.senses:
            _parts(sheet, index)
        elif piece.n is not None:
            (
                _colon(sheet, index)
                or _in(sheet, index)
                or _plus(sheet, index)
                or _slash(sheet, index)
            )


def _record(sheet: Sheet, culture: Decimal, water: Decimal, first: int, end: int) -> bool:
    if culture <= 0 or water <= 0:
        return False
    sheet.found("ratio", Ratio(culture, water), first, end)
    return True


def _colon(sheet: Sheet, i: int) -> bool:
    left, low = sheet.number(i), sheet.number(i + 2)
    if sheet.at(i + 1).raw != ":" or left is None or low is None:
        return False
    if sheet.at(i + 3).raw == ":" or sheet.at(i - 1).raw == ":":
        return False
    if looks_like_clock(sheet, i) or {"am", "pm", "oclock"} & sheet.at(i + 3).senses.keys():
        return False
    return _record(sheet, left, low, i, i + 3)


def looks_like_clock(sheet: Sheet, i: int) -> bool:
    """Whether digits, colon, digits at `i` are a time of day rather than a ratio."""
    hour, minutes = sheet.at(i), sheet.at(i + 2)
    if not (minutes.raw.isdigit() and hour.raw.isdigit()) or len(hour.raw) > 2:
        return False
    if len(minutes.raw) != 2 or int(minutes.raw) > 59 or int(hour.raw) > 24:
        return False
    beside = (sheet.at(i - 1), sheet.at(i + 3), sheet.at(i + 4))
    if any({"am", "pm", "oclock", "daypart", "clock"} & piece.senses.keys() for piece in beside):
        return True
    dosing = not sheet.roles.isdisjoint(("cue", "unit", "noun"))
    if hour.raw == "1" and dosing and minutes.raw[0] != "0":
        return False
    if "at" in sheet.at(i - 1).senses or "0" in (hour.raw[0], minutes.raw[0]):
        return True
    return hour.raw != "1" and "cue" not in sheet.roles


def _carries(sheet: Sheet, i: int) -> bool:
    """Whether what stands at `i` makes the number before it an amount, a count or a time."""
    senses = sheet.at(i).senses
    if sheet.at(i).gap in (",", "."):
        return False
    return bool({"unit", "noun", "span", "oclock", "am", "pm", "month", "multiple"} & senses.keys())


def _in(sheet: Sheet, i: int) -> bool:
    """1 in 3, 1 to 20, and the other way round: 21 of which 1."""
    joint, low = sheet.at(i + 1), sheet.number(i + 2)
    high = sheet.number(i)
    if low is None or high is None or joint.used or _carries(sheet, i + 3):
        return False
    if sheet.lexicon.habits.unit_first and _carries(sheet, i - 1):
        return False
    if "out_of" in joint.senses and low < high:
        return _record(sheet, low, high, i, i + 3)
    if "from" in sheet.at(i - 1).senses or high != 1 or low <= 1:
        return False
    dashed = joint.raw == "-" and "cue" in sheet.at(i - 1).senses
    if dashed or {"in", "to"} & joint.senses.keys():
        if "in" in joint.senses and sheet.at(i + 3).raw not in (":", "/"):
            options = (Ratio(Decimal(1), low), Ratio(Decimal(1), low - 1))
            sheet.aside("doubt", Doubt("one_in", options), i, i + 3)
        return _record(sheet, high, low, i, i + 3)
    return False


def _plus(sheet: Sheet, i: int) -> bool:
    left, low = sheet.number(i), sheet.number(i + 2)
    if sheet.at(i + 1).raw != "+" or left is None or low is None or _carries(sheet, i + 3):
        return False
    if sheet.at(i - 1).raw == "+":
        return False
    return sheet.at(i + 3).raw != "+" and _record(sheet, left, low, i, i + 3)


def _slash(sheet: Sheet, i: int) -> bool:
    """1/20 with a word of mixing near is a ratio; 1/3 alone may be a part."""
    piece = sheet.at(i)
    if "/" in piece.raw:  # a fraction already: 1/3
        top, _, low = piece.raw.partition("//")
        if top != "1" or not low.isdigit() or _carries(sheet, i + 1) or _carries(sheet, i - 1):
            return False
        ratio = Ratio(Decimal(1), Decimal(low))
        if "cue" in sheet.roles and not {"of", "article"} & sheet.at(i + 1).senses.keys():
            return _record(sheet, Decimal(1), Decimal(low), i, i + 1)
        sheet.aside("doubt", Doubt("fraction", (piece.n, ratio)), i, i + 1)
        return False
    left, low_number = sheet.number(i), sheet.number(i + 2)
    if sheet.at(i + 1).raw != "/" or left != 1 or low_number is None or low_number < 2:
        return False
    if "/" in (sheet.at(i - 1).raw, sheet.at(i + 3).raw):
        return False
    if "on" in sheet.at(i - 1).senses and not ("cue" in sheet.roles and low_number > 12):
        return False
    if "cue" in sheet.roles or low_number > 12:
        return _record(sheet, left, low_number, i, i + 3)
    return False


def _parts(sheet: Sheet, i: int) -> bool:
    """1 part culture 20 parts water; one part to 20 of water; 20 parts water to 1 of culture."""
    before = i - 1 if sheet.number(i - 1) is not None else None
    after = i + 1 if sheet.number(i + 1) is not None else None
    first = (after or before) if sheet.lexicon.habits.unit_first else (before or after)
    if first is None and sheet.number(i - 1) is None:
        return False
    first = i - 1 if first is None else first
    start = max(first, i) + 1
    water_first = False
    for j in range(start, min(start + _REACH, len(sheet.pieces))):
        piece = sheet.pieces[j]
        if "water" in piece.senses:
            water_first = True
        value = sheet.number(j)
        if value is None:
            continue
        beside = "parts" in sheet.at(j + 1).senses or "parts" in sheet.at(j - 1).senses
        if not beside and _carries(sheet, j + 1):
            return False
        one, two = sheet.number(first) or Decimal(0), value
        end = j + 2 if "parts" in sheet.at(j + 1).senses else j + 1
        culture, water = (two, one) if water_first else (one, two)
        return _record(sheet, culture, water, min(first, i), end)
    return False
