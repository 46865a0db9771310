"""Where the unit of a number stands, and which unit it is."""

from __future__ import annotations

from decimal import Decimal

from bot.language.pieces import Sheet
from bot.language.reading import Doubt

DEGREES = ("degree_celsius", "degree_fahrenheit")


def unit_place(sheet: Sheet, i: int) -> tuple[str, int, int] | None:
    """The unit of the number at `i`, and the pieces that both take up."""
    if sheet.lexicon.habits.unit_first or _stands_before(sheet, i - 1):
        placed = unit_before(sheet, i)
        if placed:
            return placed
        if {"noun", "span"} & sheet.at(i - 1).senses.keys() and sheet.lexicon.habits.unit_first:
            if not sheet.at(i - 1).used and sheet.at(i + 1).gap != "":
                return None
        if sheet.lexicon.habits.unit_first and belongs_on(sheet, i + 1, "unit"):
            return None
    return unit_after(sheet, i)


def belongs_on(sheet: Sheet, i: int, role: str) -> bool:
    """Whether a unit or noun stands there that goes with the number behind it: mara 3 lita 20."""
    return (
        sheet.free(i, role)
        and sheet.at(i).gap == " "
        and sheet.number(i + 1) is not None
        and sheet.at(i + 1).gap == " "
    )


def _stands_before(sheet: Sheet, i: int) -> bool:
    """Whether a unit stands there that goes before its number in every language (asilimia)."""
    return "unit_before" in sheet.at(i).senses or "around" in sheet.at(i).senses


def unit_before(sheet: Sheet, i: int) -> tuple[str, int, int] | None:
    """The unit that stands before the number at `i`, and the pieces that both take up."""
    piece = sheet.at(i - 1)
    if "around" in piece.senses and not piece.used:
        for after, unit in piece.senses["around"]:
            end = i + 1
            for word in after:
                if sheet.at(end).raw != word:
                    break
                end += 1
            else:
                return unit, i - 1, end
    stopped = sheet.at(i).gap == "," or (sheet.at(i).gap == "." and piece.end - piece.start == 1)
    if sheet.free(i - 1, "unit") and not stopped:
        return chosen(sheet, i - 1), i - 1, i + 1
    return None


def unit_after(sheet: Sheet, i: int) -> tuple[str, int, int] | None:
    """The unit that stands behind the number at `i`, and the pieces that both take up."""
    value = sheet.at(i).n
    j = i + 1
    if sheet.free(j, "about") and sheet.at(j).gap in ("", "-"):
        j += 1
    loose = value is not None and (value < 1 or value >= 100_000 or value != int(value))
    if loose and sheet.free(j, "of") and not sheet.free(j, "unit"):
        j = sheet.past(j + 1, "article")
    elif value == Decimal("0.5") and sheet.at(j).has("article") and sheet.free(j + 1, "unit"):
        j += 1  # half a litre; but "0,5 l" in a language whose article is "l"
    if not sheet.free(j, "unit"):
        return None
    piece = sheet.at(j)
    if "noun" in piece.senses and "planting" in sheet.roles:
        return None  # 300 pieds to water are plants, no length
    if piece.gap == "," or (piece.gap == "." and (len(piece.raw) > 3 or piece.raw == "°")):
        return None
    if "tentative" in piece.senses and not (
        piece.gap == "" or j + 1 == len(sheet.pieces) or sheet.at(j + 1).gap == "."
    ):
        return None
    follows = sheet.at(j + 1)
    if piece.gap == "" and follows.gap == "" and follows.raw[:1].isdigit():
        return None  # 24703L202 is a serial number
    end = j + 1
    unit = chosen(sheet, j)
    if len(piece.raw) == 1 and unit in DEGREES and piece.raw != "°" and value and value > 150:
        return None
    if "degree" in piece.senses and sheet.free(end, "unit"):
        more = sheet.at(end).senses["unit"]
        if more[0] in DEGREES:
            unit, end = more[0], end + 1
    return unit, i, end


def chosen(sheet: Sheet, j: int) -> str:
    """The unit a piece means: of several, the one whose cue is in the message, else the first."""
    units: tuple[str, ...] = sheet.at(j).senses["unit"]
    if len(units) == 1:
        return units[0]
    names = [unit.partition("@") for unit in units]
    for name, _, cue in names:
        if cue and cue in sheet.roles:
            return name
    sheet.aside("doubt", Doubt("unit", tuple(name for name, _, _ in names)), j, j + 1)
    return names[0][0]
