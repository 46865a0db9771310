"""Amounts for each of something, and amounts in a time."""

from __future__ import annotations

from decimal import Decimal

from bot.craft.units import LENGTH, VOLUME, Quantity, known, measures
from bot.facts import Count, Mention, Per
from bot.language.pieces import Sheet
from bot.language.unit_places import chosen

_ONE = Decimal(1)
_SECONDS = {"second": 1, "minute": 60, "hour": 3600}
_WITHIN = {VOLUME: ("flow", 60), LENGTH: ("speed", 3600)}
"""A volume in a time is a flow, said a minute; a length in a time a speed, said an hour."""


def find_pers(sheet: Sheet) -> None:
    """Record amounts for each of something: 30 ml per 15 l, 0.5L/plant, 5 l per acre."""
    ends = {m.end: m for m in sheet.mentions if m.kind == "quantity"}
    if not ends:
        return
    starts = {m.start: m for m in sheet.mentions if m.kind == "quantity"}
    for index, piece in enumerate(sheet.pieces):
        joins = "per" in piece.senses or piece.raw == "/" or is_for_each(sheet, index)
        if not joins or piece.start not in ends:
            continue
        amount = ends[piece.start]
        j = index + 1
        while {"each", "per", "article"} & sheet.at(j).senses.keys() and sheet.at(j).n is None:
            j += 1
        after = sheet.at(j)
        each: Quantity | Count | None = None
        end = j + 1
        if after.start in starts and after.used:
            each = starts[after.start].value
            sheet.mentions.append(_per(amount.value, each, amount.start, starts[after.start].end))
            continue
        if after.has("unit"):
            each = Quantity(_ONE, chosen(sheet, j))
        elif after.has("noun"):
            number = sheet.number(j + 1) if sheet.lexicon.habits.unit_first else None
            each = Count(_ONE if number is None else number, after.senses["noun"][0])
            end = j + 1 if number is None else j + 2
        elif after.n is not None and sheet.at(j + 1).has("noun") and not after.used:
            each, end = Count(after.n, sheet.at(j + 1).senses["noun"][0]), j + 2
        elif after.has("span"):
            _rate(sheet, amount, j)
            continue
        if each is None:
            continue
        for used in sheet.pieces[index:end]:
            used.used = True
        stop = sheet.pieces[end - 1].end
        sheet.mentions.append(_per(amount.value, each, amount.start, stop))
        if isinstance(each, Count) and each.n != 1:
            sheet.mentions.append(Mention("count", each, after.start, stop))


def _rate(sheet: Sheet, amount: Mention, j: int) -> None:
    """0.8 l/min, 4 km an hour: a flow or a speed beside the amount."""
    n, unit = sheet.at(j).senses["span"]
    quantity: Quantity = amount.value
    rate = _within(quantity.unit, unit)
    if n != 1 or rate is None:
        return
    kind, factor = rate
    for piece in sheet.pieces[: j + 1]:
        if piece.start >= amount.end:
            piece.used = True
    value = Quantity(quantity.value * factor, quantity.unit)
    sheet.mentions.append(Mention(kind, value, amount.start, sheet.at(j).end))


def _within(unit: str, span: str) -> tuple[str, Decimal] | None:
    """What an amount of the unit in one such span is, and how often its own span holds that."""
    rate = _WITHIN.get(measures(unit)) if known(unit) and span in _SECONDS else None
    return None if rate is None else (rate[0], Decimal(rate[1]) / _SECONDS[span])


def paced(sheet: Sheet, i: int) -> bool:
    """4 kmph, 3 mph, 0.8 lpm: unit and time in one word."""
    value = sheet.number(i)
    if value is None or not sheet.free(i + 1, "pace"):
        return False
    unit, span = sheet.at(i + 1).senses["pace"]
    rate = _within(unit, span)
    if rate is None:
        return False
    sheet.found(rate[0], Quantity(value * rate[1], unit), i, i + 2)
    return True


def is_for_each(sheet: Sheet, i: int) -> bool:
    """Whether an article behind an amount means for each: 40 l an acre."""
    before = sheet.at(i - 1)
    return (
        "indefinite" in sheet.at(i).senses
        and before.used
        and "unit" in before.senses
        and sheet.at(i).gap == " "
    )


def _per(amount: Quantity, each: Quantity | Count, start: int, end: int) -> Mention:
    return Mention("per", Per(amount, each), start, end)
