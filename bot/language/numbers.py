"""Number words and fractions joined into one number, in whatever order a language says them."""

from __future__ import annotations

from decimal import Decimal

from bot.language.lexicon import Habits
from bot.language.numerals import CAP_DIGITS
from bot.language.pieces import Piece, Sheet

_LARGEST = Decimal(10) ** CAP_DIGITS
_ONE = Decimal(1)
_SMALL_PARTS = (2, 3, 4, 5, 8, 10)

_Number = tuple[Decimal, int]


def join(sheet: Sheet) -> None:
    """Replace the number words and fractions of a message by one piece a number."""
    roles = sheet.roles
    if roles.isdisjoint(_STARTS) and not any(piece.n is not None for piece in sheet.pieces):
        return
    joined: list[Piece] = []
    index, length = 0, len(sheet.pieces)
    while index < length:
        piece = sheet.pieces[index]
        if piece.n is None and piece.senses.keys().isdisjoint(_STARTS):
            joined.append(piece)
            index += 1
            continue
        number = _number(sheet, index)
        if number is None or abs(number[0]) >= _LARGEST:
            joined.append(piece)
            index += 1
            continue
        value, end = number
        last = sheet.pieces[end - 1]
        if end == index + 1:
            piece.n = value
            joined.append(piece)
        else:
            digits = [p.raw for p in sheet.pieces[index:end] if p.raw.isdigit()]
            slashed = any(p.raw == "/" for p in sheet.pieces[index:end])
            dozens = any("multiple" in p.senses for p in sheet.pieces[index:end])
            kept = {} if dozens else _joined_senses(last)
            whole = Piece(piece.start, last.end, kept, piece.gap, n=value)
            whole.raw = "//".join(digits) if slashed else ""
            if piece.senses.get("num") == 0 and value >= 1:
                whole.raw = f"0{value}"  # oh five
            joined.append(whole)
        index = end
    sheet.lay(joined)


_STARTS = frozenset(("num", "fraction", "more", "multiple", "part", "point", "article"))


def _joined_senses(last: Piece) -> dict[str, bool]:
    """What a number keeps of its last word: that it ended in a half."""
    return {role: True for role in ("half_hour", "fraction") if role in last.senses}


def _number(sheet: Sheet, i: int) -> _Number | None:
    piece = sheet.at(i)
    if "more" in piece.senses:
        number = _more(sheet, i)
        if number:
            return number
    if piece.n is None and "fraction" in piece.senses:
        return _leading_fraction(sheet, i)
    if "article" in piece.senses and piece.n is None and "num" not in piece.senses:
        return _after_article(sheet, i)
    if sheet.lexicon.habits.multiplier_after and "part" in piece.senses:
        times = sheet.at(i + 1).senses.get("num", 0)
        return (Decimal(times) / piece.senses["part"], i + 2) if 0 < times < 10 else None
    if piece.n is None and "multiple" in piece.senses:
        size = Decimal(piece.senses["multiple"])
        times = sheet.at(i + 1)
        value = times.n if times.n is not None else times.senses.get("num")
        if sheet.lexicon.habits.multiplier_after and value is not None and value < 100:
            return size * value, i + 2
        return _and_half(sheet, size, i + 1, size)
    if piece.n is None and "point" in piece.senses and "num" not in piece.senses:
        return _decimals(sheet, i, Decimal(0)) if sheet.at(i - 1).n is None else None
    number = _slashed(sheet, i) or _cardinal(sheet, i)
    if number is None:
        return None
    value, end = number
    if sheet.free(end, "point") and value == int(value):
        number = _decimals(sheet, end, value)
        if number:
            value, end = number
    return _scaled(sheet, *_with_fraction(sheet, value, end))


def _cardinal(sheet: Sheet, i: int) -> _Number | None:
    habits = sheet.lexicon.habits
    if habits.multiplier_after and "num" in sheet.at(i).senses:
        return _cardinal_multiplier_after(sheet, i)
    total, current, limit = Decimal(0), None, _LARGEST
    j, joined = i, False
    while True:
        piece = sheet.at(j)
        value = piece.senses.get("num") if piece.n is None else None
        if piece.n is not None:
            follows = sheet.at(j + 1).senses.get("num", 0)
            if j == i:
                current = piece.n
            elif joined and current is not None and current % 100 == 0 and piece.n < 100:
                return _settle(total, current + piece.n, j + 1)
            elif joined and current is None and piece.n < limit:
                return _settle(total, piece.n, j + 1)
            elif current is None and 100 <= follows < limit and piece.n < 100:
                current = piece.n
            else:
                break
        elif value is None:
            so_far = total + (current or 0)
            if joined or not ("and" in piece.senses and j > i and so_far >= habits.join_from):
                break
            if not _fits(sheet, j + 1, current, limit, total, habits):
                break
            joined = True
            j += 1
            continue
        else:
            step = _added(Decimal(value), current, total, limit, habits)
            if step is None:
                break
            total, current, limit = step
        joined = False
        j += 1
        glued = sheet.at(j).senses.get("glued")
        if glued and sheet.at(j).gap == "" and current is not None and j == i + 1:
            return _settle(total, current * glued, j + 1)
    return None if j == i else _settle(total, current, j)


def _settle(total: Decimal, current: Decimal | None, end: int) -> _Number:
    return total + (current or 0), end


def _fits(
    sheet: Sheet, j: int, current: Decimal | None, limit: Decimal, total: Decimal, habits: Habits
) -> bool:
    """Whether the number after a joining word goes on with the number before it."""
    piece = sheet.at(j)
    if piece.n is not None:
        if current is None:
            return piece.n < limit and total > 0
        carries = {"unit", "noun", "span", "part"} & sheet.at(j + 1).senses.keys()
        return current >= 100 and current % 100 == 0 and 0 < piece.n < 100 and not carries
    value = piece.senses.get("num")
    if (
        value is None
        or (current is None and total == 0)
        or {"part", "fraction"} & sheet.at(j + 1).senses.keys()
    ):
        return False
    if current is None:
        return Decimal(value) < limit
    return value < 1000 and _added(Decimal(value), current, total, limit, habits) is not None


_Step = tuple[Decimal, "Decimal | None", Decimal]


def _added(
    value: Decimal,
    current: Decimal | None,
    total: Decimal,
    limit: Decimal,
    habits: Habits,
) -> _Step | None:
    """Total, current and limit after one more number word; None where it starts another number."""
    if value >= 1000:
        if value >= limit or (current is None and total > 0):
            return None
        return total + (_ONE if current is None else current) * value, None, value
    if current is None or (current == 0 and total == 0 and value < 10):
        return (total, value, limit) if value < limit else None
    if value == 100:
        return (total, current * 100, limit) if 0 < current < 100 else None
    rest = current % 100
    if value > 100 or current != int(current):
        return None
    if (
        (current >= 100 and rest == 0)
        or (rest >= 20 and rest % 10 == 0 and 0 < value < 10)
        or (int(rest) in habits.teens_after and 10 <= value < 20)
    ):
        return total, current + value, limit
    spoken_year = 13 <= current <= 20 and value >= 10 and total == 0
    implied = habits.implied_hundred and 1 <= current <= 9 and value >= 10 and total == 0
    return (total, current * 100 + value, limit) if spoken_year or implied else None


def _cardinal_multiplier_after(sheet: Sheet, i: int) -> _Number | None:
    """Mia mbili na hamsini: hundred two and fifty."""
    total, limit, j = Decimal(0), _LARGEST, i
    while True:
        start = sheet.past(j, "and") if j > i else j
        value = sheet.at(start).senses.get("num") if sheet.at(start).n is None else None
        if (
            value is None
            or value >= limit
            or (j > i and start == j and value < 10 and limit == 100)
        ):
            break
        if value >= 100:
            times, end = _multiplier(sheet, start + 1, value)
            total += times * value
            limit, j = Decimal(value), end
        else:
            small, end = _below_hundred(sheet, start)
            return total + small, end
    return None if j == i else (total, j)


def _multiplier(sheet: Sheet, j: int, scale: int) -> _Number:
    piece = sheet.at(j)
    if piece.n is not None:
        unit_follows = {"unit", "noun", "span"} & sheet.at(j + 1).senses.keys()
        return (piece.n, j + 1) if not unit_follows else (_ONE, j)
    value = piece.senses.get("num", 0)
    if scale > 100 and value == 100:
        times, end = _multiplier(sheet, j + 1, 100)
        return times * 100, end
    if scale > 100 and 0 < value < 100:
        return _below_hundred(sheet, j)
    return (Decimal(value), j + 1) if 0 < value < 10 else (_ONE, j)


def _below_hundred(sheet: Sheet, j: int) -> _Number:
    value = sheet.at(j).senses["num"]
    unit = sheet.past(j + 1, "and")
    follows = sheet.at(unit).senses.get("num", 0) if sheet.at(unit).n is None else 0
    if value >= 10 and value % 10 == 0 and 0 < follows < 10 and unit == j + 2:
        return Decimal(value + follows), unit + 1
    return Decimal(value), j + 1


def _more(sheet: Sheet, i: int) -> _Number | None:
    """Saadhe teen is three and a half; savaa sau is a hundred and a quarter of it."""
    extra = Decimal(sheet.at(i).senses["more"])
    base = sheet.at(i + 1)
    value = base.n if base.n is not None else base.senses.get("num")
    if value is None:
        return (_ONE + extra, i + 1) if abs(extra) == Decimal("0.25") else None
    if value >= 100:
        return _scaled(sheet, _ONE + extra, i + 1)
    return _scaled(sheet, Decimal(value) + extra, i + 2)


def _leading_fraction(sheet: Sheet, i: int) -> _Number:
    value, end = Decimal(sheet.at(i).senses["fraction"]), i + 1
    if value >= 1:
        return _scaled(sheet, value, end)
    after = sheet.past(sheet.past(end, "of"), "article")
    if sheet.at(after).n is None and (
        "multiple" in sheet.at(after).senses or sheet.at(after).senses.get("num", 0) >= 1000
    ):
        return _scaled(sheet, value, after)
    parts = sheet.at(end)
    if sheet.lexicon.habits.multiplier_after and parts.senses.get("num", 0) in (1, 2, 3):
        return value * parts.senses["num"], end + 1
    return value, end


def _after_article(sheet: Sheet, i: int) -> _Number | None:
    """A dozen, a hundred, a half, a litre; an article before anything else is no number."""
    follows = sheet.at(i + 1)
    if follows.n is not None:
        return None
    if "multiple" in follows.senses:
        return _scaled(sheet, _ONE, i + 1)
    if "num" in follows.senses and follows.senses["num"] >= 100:
        return _cardinal(sheet, i + 1)
    if "fraction" in follows.senses and follows.senses["fraction"] < 1:
        return _leading_fraction(sheet, i + 1)
    if "part" in follows.senses and "indefinite" in sheet.at(i).senses:
        return _ONE / follows.senses["part"], i + 2
    carries = {"unit", "span", "noun"} & follows.senses.keys()
    if carries and "indefinite" in sheet.at(i).senses and "tentative" not in follows.senses:
        return _ONE, i + 1
    return None


def _slashed(sheet: Sheet, i: int) -> _Number | None:
    """1/2, 10 1/2: digits over digits, where they are no date."""
    top, mark, low = sheet.at(i), sheet.at(i + 1), sheet.at(i + 2)
    if mark.raw == "/" and low.n is not None and top.n is not None:
        if sheet.at(i + 3).raw == "/" or low.n == 0 or sheet.at(i - 1).raw == "/":
            return None
        unit_after = bool(
            {"unit", "noun", "span", "of", "multiple"} & sheet.at(i + 3).senses.keys()
        )
        plain = top.n < low.n and int(low.n) in _SMALL_PARTS
        return (top.n / low.n, i + 3) if plain or unit_after else None
    if top.n is not None and top.n == int(top.n) and sheet.at(i + 2).raw == "/":
        part = _slashed(sheet, i + 1)
        if part and part[0] < 1 and mark.gap == " ":
            return top.n + part[0], part[1]
    return None


def _decimals(sheet: Sheet, point: int, whole: Decimal) -> _Number | None:
    """Point five, comma zero five: digits said one by one, or as one number."""
    j, digits = point + 1, ""
    while len(digits) < CAP_DIGITS:
        piece = sheet.at(j)
        value = piece.n if piece.n is not None else piece.senses.get("num")
        if value is None or value != int(value):
            break
        if value >= 10 or piece.n is not None:
            number = _cardinal(sheet, j) or (value, j + 1)
            digits += str(int(number[0]))
            j = number[1]
            break
        digits += str(int(value))
        j += 1
    return (whole + Decimal(f"0.{digits}"), j) if digits else None


def _with_fraction(sheet: Sheet, value: Decimal, end: int) -> _Number:
    """Two and a half, three quarters, two thirds, three million and a half."""
    after = sheet.past(end, "and")
    half = sheet.past(after, "article")
    senses = sheet.at(half).senses
    fraction = senses.get("fraction") if sheet.at(half).n is None else None
    last_scale = sheet.at(end - 1).senses.get("num", 1) if sheet.at(end - 1).n is None else 1
    size = Decimal(last_scale) if last_scale >= 1000 else _ONE
    if after > end:
        if fraction is not None and fraction < 1:
            return value + fraction * size, half + 1
        part = _slashed(sheet, half)
        if part and part[0] < 1:
            return value + part[0], part[1]
        several = _cardinal(sheet, after) if "num" in sheet.at(after).senses else None
        if several and sheet.at(several[1]).senses.get("part"):
            return value + several[0] / sheet.at(several[1]).senses["part"] * size, several[1] + 1
        if several and (piece := sheet.at(several[1]).senses.get("fraction")) and piece < 1:
            return value + several[0] * piece * size, several[1] + 1
        return value, end
    if half == end and value == int(value) and not sheet.lexicon.habits.multiplier_after:
        if fraction is not None and fraction < 1 and (value == 1 or fraction != Decimal("0.5")):
            return _of_scale(sheet, value * fraction, end + 1)
        if "part" in senses and sheet.at(end).n is None and "span" not in senses:
            return _of_scale(sheet, value / senses["part"], end + 1)
    return value, end


def _and_half(sheet: Sheet, value: Decimal, end: int, size: Decimal) -> _Number:
    """A dozen and a half is 18."""
    half = sheet.past(sheet.past(end, "and"), "article")
    piece = sheet.at(half)
    fraction = piece.senses.get("fraction", 1) if piece.n is None else 1
    carries = {"unit", "span", "noun"} & sheet.at(half + 1).senses.keys()
    if "and" not in sheet.at(end).senses or fraction >= 1 or carries:
        return value, end
    return value + Decimal(fraction) * size, half + 1


def _of_scale(sheet: Sheet, value: Decimal, end: int) -> _Number:
    """Two thirds of a million."""
    scale = sheet.past(sheet.past(end, "of"), "article")
    size = sheet.at(scale).senses.get("num", 0) if sheet.at(scale).n is None else 0
    return (value * size, scale + 1) if scale > end and size >= 1000 else (value, end)


def _is_scale(value: int) -> bool:
    """Whether a number word multiplies: hundred, thousand, but not two hundred in one word."""
    return value == 100 or value >= 1000


def _scaled(sheet: Sheet, value: Decimal, end: int) -> _Number:
    """Times a dozen, a hundred or more that follows: one and a half lakh, half a dozen."""
    while True:
        after = sheet.past(end, "of") if "multiple" in sheet.at(end + 1).senses else end
        piece = sheet.at(after)
        if piece.n is None and "multiple" in piece.senses:
            size = piece.senses["multiple"]
            value, end = _and_half(sheet, value * size, after + 1, size)
        elif piece.n is None and _is_scale(piece.senses.get("num", 0)) and value < 1000:
            value, end = value * piece.senses["num"], after + 1
        else:
            return value, end
