"""Measured amounts, counted things, ranges and amounts per something."""

from __future__ import annotations

from decimal import Decimal

from bot.craft.units import LENGTH, VOLUME, Quantity, known, measures
from bot.facts import Count, Mention, Per, Span
from bot.language.numerals import other_reading
from bot.language.pieces import Sheet
from bot.language.reading import Doubt

_DEGREES = ("degree_celsius", "degree_fahrenheit")
_LENGTHS = ("metre", "foot", "yard", "centimetre", "inch")
_ONE = Decimal(1)
_SECONDS = {"second": 1, "minute": 60, "hour": 3600}
_WITHIN = {VOLUME: ("flow", 60), LENGTH: ("speed", 3600)}
"""A volume in a time is a flow, said a minute; a length in a time a speed, said an hour."""


def find(sheet: Sheet) -> None:
    """Record the quantities of a message, with the ranges and per-amounts around them."""
    for index, piece in enumerate(sheet.pieces):
        if piece.used:
            continue
        if piece.n is not None:
            if not _a_for_each(sheet, index):
                _range(sheet, index) or _quantity(sheet, index) or _paced(sheet, index)
        elif "unit" in piece.senses:
            _unit_and_a_half(sheet, index)
    _pers(sheet)


_MEASURED = frozenset(("unit", "noun", "span", "multiple"))


def find_counts(sheet: Sheet) -> None:
    """Record the counted things of a message."""
    for index, piece in enumerate(sheet.pieces):
        if not piece.used and piece.n is not None:
            _count(sheet, index, piece.n)
        elif not piece.used and "noun" in piece.senses:
            part, end = _and_half(sheet, index + 1)
            if part:  # bomba y media
                noun = piece.senses["noun"][0]
                sheet.found("count", Count(_ONE + part, noun), index, end)


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


# --- one quantity -----------------------------------------------------------------------------


def _unit_place(sheet: Sheet, i: int) -> tuple[str, int, int] | None:
    """The unit of the number at `i`, and the pieces that both take up."""
    if sheet.lexicon.habits.unit_first or _stands_before(sheet, i - 1):
        placed = _unit_before(sheet, i)
        if placed:
            return placed
        if {"noun", "span"} & sheet.at(i - 1).senses.keys() and sheet.lexicon.habits.unit_first:
            if not sheet.at(i - 1).used and sheet.at(i + 1).gap != "":
                return None
        if sheet.lexicon.habits.unit_first and _belongs_on(sheet, i + 1, "unit"):
            return None
    return _unit_after(sheet, i)


def _belongs_on(sheet: Sheet, i: int, role: str) -> bool:
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


def _unit_before(sheet: Sheet, i: int) -> tuple[str, int, int] | None:
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
        return _chosen(sheet, i - 1), i - 1, i + 1
    return None


def _unit_after(sheet: Sheet, i: int) -> tuple[str, int, int] | None:
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
    unit = _chosen(sheet, j)
    if len(piece.raw) == 1 and unit in _DEGREES and piece.raw != "°" and value and value > 150:
        return None
    if "degree" in piece.senses and sheet.free(end, "unit"):
        more = sheet.at(end).senses["unit"]
        if more[0] in _DEGREES:
            unit, end = more[0], end + 1
    return unit, i, end


def _chosen(sheet: Sheet, j: int) -> str:
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


def _quantity(sheet: Sheet, i: int) -> Quantity | None:
    value = sheet.number(i)
    if value is None or (sheet.at(i - 1).raw == "/" and sheet.at(i - 2).n is not None):
        return None  # 1/0 l
    placed = _unit_place(sheet, i)
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
        if unit not in _DEGREES:
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
    sheet.found("quantity", Quantity(_ONE + fraction, _chosen(sheet, i)), i, half + 1)
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
    unit_first = sheet.lexicon.habits.unit_first and _unit_before(sheet, i)
    if unit_first and not sheet.free(i + 3, "unit"):
        unit, first, _ = unit_first
        end = i + 3
    else:
        placed = _unit_after(sheet, i + 2)
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


# --- per --------------------------------------------------------------------------------------


def _pers(sheet: Sheet) -> None:
    """Record amounts for each of something: 30 ml per 15 l, 0.5L/plant, 5 l per acre."""
    ends = {m.end: m for m in sheet.mentions if m.kind == "quantity"}
    if not ends:
        return
    starts = {m.start: m for m in sheet.mentions if m.kind == "quantity"}
    for index, piece in enumerate(sheet.pieces):
        joins = "per" in piece.senses or piece.raw == "/" or _a_for_each(sheet, index)
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
            each = Quantity(_ONE, _chosen(sheet, j))
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


def _paced(sheet: Sheet, i: int) -> bool:
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


def _a_for_each(sheet: Sheet, i: int) -> bool:
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


# --- counts -----------------------------------------------------------------------------------


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
    if unit_first and _belongs_on(sheet, j, "noun"):
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
