"""Dates: relative words, weekdays, day and month, digits, and lengths of time from now."""

from __future__ import annotations

import re
from calendar import monthrange
from datetime import date, datetime, timedelta
from decimal import Decimal

from bot.language.pieces import END, Piece, Sheet
from bot.language.reading import Doubt
from bot.language.recurrences import length_at

CAP_DAYS = 3 * 366
"""A date further away than three years is no farm date; only a year in digits goes further."""

_JUST_GONE = 31  # a day and month gone this recently is not meant for next year
_DATE_DIGITS = re.compile(r"(\d{1,4})\.(\d{1,2})(?:\.(\d{2,4}))?")
_RUN = re.compile(r"(20\d\d)(0[1-9]|1[0-2])([0-3]\d)")


def find(sheet: Sheet, ref: datetime, tense: str) -> None:
    """Record the dates of a message sent at `ref`; `tense` is past, future or empty."""
    today = ref.date()
    for role, rule in (
        ("month", _month),
        ("", _numeric),
        ("weekday", _weekday),
        ("day", _relative),
    ):
        if role and role not in sheet.roles:
            continue
        for index, piece in enumerate(sheet.pieces):
            if piece.used:
                continue
            if role in piece.senses if role else _may_be_day(piece):
                rule(sheet, index, today, tense)
    if sheet.roles.isdisjoint(("span", "feast")):
        return
    for index, piece in enumerate(sheet.pieces):
        if not piece.used:
            if "feast" in piece.senses:
                _feast(sheet, index, today)
            else:
                _from_now(sheet, index, ref)


def _may_be_day(piece: Piece) -> bool:
    return piece.n is not None or "ordinal" in piece.senses or piece.raw[:1].isdigit()


def _record(sheet: Sheet, day: date | None, first: int, end: int) -> bool:
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


def _day(year: int, month: int, day: int) -> date | None:
    if not 1 <= month <= 12 or not 1 <= year <= 9998 or not 1 <= day <= monthrange(year, month)[1]:
        return None
    return date(year, month, day)


def _nearest_year(month: int, day: int, today: date, tense: str) -> date | None:
    """The year that a day and month without one means."""
    for years in (0, 1, 2, 3, 4) if tense != "past" else (0, -1, -2, -3, -4):
        candidate = _day(today.year + years, month, day)
        if candidate is None:
            continue
        away = (candidate - today).days
        if tense == "past" and away <= 0:
            return candidate
        if tense != "past" and away >= (0 if tense == "future" else -_JUST_GONE):
            return candidate
    return None


def _year(piece_n: Decimal | None, raw: str) -> int | None:
    """The year a number after day and month means: 2026, 26."""
    if piece_n is None or piece_n != int(piece_n):
        return None
    value = int(piece_n)
    if 1900 <= value <= 2100:
        return value
    if len(raw) == 2 and raw.isdigit():
        return 1900 + value if value >= 40 else 2000 + value
    return None


# --- day and month ----------------------------------------------------------------------------


def _day_of_month(sheet: Sheet, i: int) -> int | None:
    """The day a piece can be: 5, five, 5th, first; None where it is none."""
    piece = sheet.at(i)
    if piece.used:
        return None
    value = piece.senses.get("ordinal", piece.n)
    if value is None or value != int(value) or not 1 <= value <= 31:
        return None
    return int(value)


def _suffix(sheet: Sheet, i: int) -> bool:
    piece = sheet.at(i)
    return piece.has("suffix") and piece.gap in ("", ".", "-")


def _month(sheet: Sheet, i: int, today: date, tense: str) -> bool:
    """5 March, March 5th, first of March, 5-mar-2026, 2026/mar/5."""
    month = sheet.at(i).senses["month"]
    before = i - 1
    while sheet.at(before).n is None and (
        sheet.at(before).raw == "/"
        or "of" in sheet.at(before).senses
        or "ordinal_day" in sheet.at(before).senses
        or _suffix(sheet, before)
    ):
        before -= 1
    day = _day_of_month(sheet, before)
    end = i + 1
    if day is None:
        return _month_first(sheet, i, month, today, tense)
    first = before
    year, end = _year_after(sheet, end)
    found = _day(year, month, day) if year else _nearest_year(month, day, today, tense)
    return _record(
        sheet, found, _with_weekday_before(sheet, first), _with_weekday_after(sheet, end)
    )


def _month_first(sheet: Sheet, i: int, month: int, today: date, tense: str) -> bool:
    j = i + 1
    while sheet.at(j).raw in ("/", "-") or (
        "article" in sheet.at(j).senses and sheet.at(j).n is None
    ):
        j += 1
    day = _day_of_month(sheet, j)
    if day is None or {"unit", "noun", "span", "am", "pm"} & sheet.at(j + 1).senses.keys():
        return False
    if sheet.at(j + 1).raw in (":", "%", "°"):
        return False
    first = i
    end = j + 1
    while _suffix(sheet, end):
        end += 1
    year, end = _year_after(sheet, end)
    if year is None and sheet.at(i - 1).raw == "/" and _year(sheet.number(i - 2), ""):
        year, first = _year(sheet.number(i - 2), ""), i - 2
    found = _day(year, month, day) if year else _nearest_year(month, day, today, tense)
    return _record(sheet, found, _with_weekday_before(sheet, first), end)


def _year_after(sheet: Sheet, end: int) -> tuple[int | None, int]:
    j = end
    while ({"of", "on"} & sheet.at(j).senses.keys() and not sheet.at(j).used) or sheet.at(
        j
    ).raw in ("/", "-", "'"):
        j += 1
    piece = sheet.at(j)
    if piece.used or {"unit", "noun", "span", "oclock", "am", "pm"} & sheet.at(j + 1).senses.keys():
        return None, end
    year = _year(piece.n, piece.raw)
    if year is not None and year < 2000 and len(piece.raw) == 2 and j == end and piece.gap == " ":
        return None, end
    return (year, j + 1) if year is not None else (None, end)


def _with_weekday_before(sheet: Sheet, first: int) -> int:
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


def _with_weekday_after(sheet: Sheet, end: int) -> int:
    return end + 1 if sheet.at(end).has("weekday") else end


# --- weekdays ---------------------------------------------------------------------------------


def _weekday(sheet: Sheet, i: int, today: date, tense: str) -> bool:
    piece = sheet.at(i)
    weekday: int = piece.senses["weekday"]
    nth = _nth_of_month(sheet, i, today)
    if nth:
        return _record(sheet, *nth)
    number = _beside_weekday(sheet, i)
    if number:
        day, first, end = number
        return _record(sheet, _weekday_and_day(weekday, day, today, tense), first, end)
    if piece.has("weak") and not _sure_weekday(sheet, i):
        return False
    ahead = (weekday - today.weekday()) % 7
    before, after = sheet.at(i - 1), sheet.at(i + 1)
    first, end = i, i + 1
    week = _week(sheet, i)
    if week is not None:
        weeks, first, end = week
        monday = today - timedelta(days=today.weekday())
        return _record(sheet, monday + timedelta(days=7 * weeks + weekday), first, end)
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
        return _record(sheet, today - timedelta(days=back), first, end)
    times = sheet.number(i - 1)
    if times is not None and 1 <= times <= 52 and (after.has("from_now") or after.has("after")):
        return _record(
            sheet, today + timedelta(days=(ahead or 7) + 7 * int(times - 1)), i - 1, i + 2
        )
    if next_word and not {"this", "last"} & (before.senses.keys() | after.senses.keys()):
        monday = today + timedelta(days=7 - today.weekday())
        return _record(sheet, monday + timedelta(days=weekday), first, end)
    return _record(sheet, today + timedelta(days=ahead or 7), first, end)


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
        year, end = _year_after(sheet, j + 1)
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
    day = _day_of_month(sheet, j)
    counted = sheet.at(i - 1).n is not None and "habitual" not in sheet.at(i).senses
    if day is None and sheet.at(i).gap == " " and counted:
        day = _day_of_month(sheet, i - 1)
        busy = {"from_now", "after", "each"} & sheet.at(i + 1).senses.keys()
        return None if day is None or busy else (day, i - 1, i + 1)
    if day is None or sheet.at(j).raw[:1] == "0":
        return None
    after = sheet.at(j + 1)
    ordinal = _suffix(sheet, j + 1) or "ordinal" in sheet.at(j).senses
    if ordinal:
        end = j + 2 if _suffix(sheet, j + 1) else j + 1
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
    candidates = (_day(today.year + month // 12, month % 12 + 1, day) for month in months)
    return next(
        (c for c in candidates if c and c.weekday() == weekday and (c - today).days * step >= 0),
        None,
    )


# --- relative words ---------------------------------------------------------------------------


def _relative(sheet: Sheet, i: int, today: date, tense: str) -> bool:
    offsets: tuple[int, ...] = sheet.at(i).senses["day"]
    before = sheet.at(i - 1)
    if len(offsets) == 1:
        if before.has("after") and offsets == (0,) and "span" in sheet.at(i - 2).senses:
            return False  # 5 days after today: counted from now
        further = before.has("day_after") - before.has("day_before")
        first = i - 1 if further else i
        return _record(sheet, today + timedelta(days=offsets[0] + further), first, i + 1)
    past, future = (today + timedelta(days=offset) for offset in offsets[:2])
    if not tense:
        sheet.aside("doubt", Doubt("tense", (future, past)), i, i + 1)
    return _record(sheet, past if tense == "past" else future, i, i + 1)


def _feast(sheet: Sheet, i: int, today: date) -> bool:
    month, day = (int(part) for part in sheet.at(i).senses["feast"].split("-"))
    year, end = _year_after(sheet, i + 1)
    found = _day(year, month, day) if year else _nearest_year(month, day, today, "future")
    return _record(sheet, found, i, end)


def _from_now(sheet: Sheet, i: int, ref: datetime) -> bool:
    """5 days ago, in 2 weeks, 3 hours later, siku 5 zilizopita, a week from today."""
    lengths: list[tuple[Decimal, str, int, int]] = []
    first_length = length_at(sheet, i)
    if first_length is None:
        return False
    lengths.append(first_length)
    start, end = first_length[2], first_length[3]
    while len(lengths) < 4:
        j = sheet.past(end, "and")
        following = length_at(sheet, j) or (
            length_at(sheet, j + 1) if sheet.lexicon.habits.unit_first else None
        )
        if following is None or following[2] != j:
            break
        lengths.append(following)
        end = following[3]
    sign, first, end = _direction(sheet, start, end)
    if not sign or all(unit == "second" for _, unit, _, _ in lengths):
        # Seconds are measured ("walked 20 m in 25 s"), never waited for.
        return False
    moment = ref
    for value, unit, _, _ in lengths:
        shifted = _shifted(moment, value * sign, unit)
        if shifted is None:
            return False
        moment = shifted
    if all(unit in ("hour", "minute", "second") for _, unit, _, _ in lengths):
        sheet.aside("date", moment.date(), first, end)
        sheet.found("time", moment.time().replace(second=0, microsecond=0, tzinfo=None), first, end)
        return True
    return _record(sheet, moment.date(), first, end)


def _direction(sheet: Sheet, start: int, end: int) -> tuple[int, int, int]:
    """-1 for ago, 1 for ahead, 0 for neither; and where the words for it stand."""
    before, after = sheet.at(start - 1), sheet.at(end)
    if "each" in sheet.at(start - 2).senses or before.has("each"):
        return 0, start, end
    if before.has("ago"):
        return -1, start - 1, end
    if after.has("ago"):
        return -1, start, end + 1
    if after.has("from_now"):
        return 1, start, end + 1
    if after.has("after") and sheet.at(end + 1).senses.get("day") == (0,):
        return 1, start, end + 2
    if before.has("within") and not after.has("old"):
        return 1, start - 1, end
    if before.has("after") and before.gap != "never":
        return 1, start - 1, end
    if "after" in after.senses and not after.used and "after_alone" not in after.senses:
        return 1, start, end + 1
    if after.has("within_after"):
        return 1, start, end + 1
    return 0, start, end


def _shifted(moment: datetime, value: Decimal, unit: str) -> datetime | None:
    days = {"day": 1, "week": 7, "month": 31, "year": 366}.get(unit, 0)
    if abs(value) * days > CAP_DAYS * 4 or abs(value) > 100_000:
        return None
    if unit in ("month", "year") and value == int(value):
        months = int(value) * (12 if unit == "year" else 1)
        total = moment.year * 12 + moment.month - 1 + months
        year, month = divmod(total, 12)
        day = min(moment.day, monthrange(year, month + 1)[1])
        return moment.replace(year=year, month=month + 1, day=day)
    size = {"second": 1, "minute": 60, "hour": 3600, "day": 86400, "week": 604800}
    seconds = value * size.get(unit, 86400 * (365 if unit == "year" else 30))
    return moment + timedelta(seconds=float(seconds))


# --- digits -----------------------------------------------------------------------------------


def _numeric(sheet: Sheet, i: int, today: date, tense: str) -> bool:
    piece = sheet.at(i)
    run = _RUN.fullmatch(piece.raw)
    if run:
        return _record(sheet, _day(int(run[1]), int(run[2]), int(run[3])), i, i + 1)
    dotted = _DATE_DIGITS.fullmatch(piece.raw)
    if dotted and _dotted(sheet, i, dotted, today, tense):
        return True
    second, third = sheet.at(i + 1), sheet.at(i + 3)
    if piece.n is not None and second.raw in ("/", "-") and sheet.number(i + 2) is not None:
        if third.raw == second.raw and sheet.number(i + 4) is not None:
            parts = tuple(sheet.at(k).raw for k in (i, i + 2, i + 4))
            after = sheet.at(i + 5)
            if all(part.isdigit() for part in parts) and after.raw != second.raw:
                return _record(sheet, _three(parts, sheet), _with_weekday_before(sheet, i), i + 5)
            return False
        return _two(sheet, i, today, tense)
    if "/" in piece.raw and _cued(sheet, i):
        top, _, low = piece.raw.partition("//")
        return _pair(sheet, top, low, i, i + 1, today, tense)
    return _alone(sheet, i, today, tense)


def _cued(sheet: Sheet, i: int) -> bool:
    """Whether the words before digits make them a date."""
    before = sheet.at(i - 1)
    return bool({"on", "weekday", "day", "this", "next", "ordinal_day"} & before.senses.keys())


def _three(parts: tuple[str, ...], sheet: Sheet) -> date | None:
    one, two, three = (int(part) for part in parts)
    if len(parts[0]) == 4:
        return _day(one, two, three) or _day(one, three, two)
    if len(parts[2]) not in (2, 4):
        return None
    year = three if len(parts[2]) == 4 else three + (1900 if three >= 40 else 2000)
    return _ordered(year, one, two, sheet)


def _ordered(year: int, one: int, two: int, sheet: Sheet) -> date | None:
    if sheet.lexicon.habits.day_first:
        return _day(year, two, one) or _day(year, one, two)
    return _day(year, one, two) or _day(year, two, one)


def _dotted(sheet: Sheet, i: int, form: re.Match[str], today: date, tense: str) -> bool:
    """1.5.2025, 23.08., 11.9. - and 7.6 only after a word that asks for a date."""
    one, two, three = form.groups()
    if three is not None:
        if len(one) > 2 and len(one) != 4:
            return False
        return _record(sheet, _three((one, two, three), sheet), i, i + 1)
    after = sheet.at(i + 1)
    stopped = (after.gap == "." and not after.used) or i + 1 == len(sheet.pieces)
    weekday = "weekday" in sheet.at(i - 1).senses
    two_digits = len(two) == 2 and len(one) == 2
    if not (weekday or (_cued(sheet, i) and stopped) or (sheet.free(i - 1, "on") and two_digits)):
        return False
    if {"unit", "noun", "span"} & after.senses.keys():
        return False
    return _pair(sheet, one, two, i, i + 1, today, tense)


def _pair(sheet: Sheet, one: str, two: str, first: int, end: int, today: date, tense: str) -> bool:
    if not (one.isdigit() and two.isdigit() and len(one) <= 2 and len(two) <= 2):
        return False
    placed = _ordered(2024, int(one), int(two), sheet)  # a leap year, so that 29/2 is a day
    if placed is None:
        return False
    found = _nearest_year(placed.month, placed.day, today, tense)
    start = _with_weekday_before(sheet, first)
    return _record(sheet, found, start, _with_weekday_after(sheet, end))


def _two(sheet: Sheet, i: int, today: date, tense: str) -> bool:
    """17/2; a dash needs a word that asks for a date: el 4-22."""
    if sheet.at(i + 3).raw in ("/", "-", ":") or sheet.at(i - 1).raw in ("/", ":", "+"):
        return False
    if {"unit", "noun", "span", "of", "parts"} & sheet.at(i + 3).senses.keys():
        return False
    if sheet.at(i + 1).raw == "-" and not _cued(sheet, i):
        return False
    return _pair(sheet, sheet.at(i).raw, sheet.at(i + 2).raw, i, i + 3, today, tense)


def _spelt(sheet: Sheet, i: int, first: int, today: date, tense: str) -> bool:
    """El 17 del 11, 9 de 8 de 1971, le 20 02 14: day, month and year one after the other."""
    j = i + 1
    while {"of", "on"} & sheet.at(j).senses.keys() and sheet.at(j).n is None:
        j += 1
    month = sheet.number(j)
    if month is None or month != int(month) or not 1 <= month <= 12 or sheet.at(j).gap == ",":
        return False
    year, end = _year_after(sheet, j + 1)
    if j == i + 1 and year is None:
        return False
    if {"unit", "noun", "span", "oclock"} & sheet.at(j + 1).senses.keys():
        return False
    day = int(sheet.at(i).n or 0)
    found = _day(year, int(month), day) if year else _nearest_year(int(month), day, today, tense)
    return _record(sheet, found, first, end)


def _alone(sheet: Sheet, i: int, today: date, tense: str) -> bool:
    """The 15th, el 17, 15 tarikh, dia 20: a day of this month or the next."""
    day = _day_of_month(sheet, i)
    if day is None:
        return False
    before, after = sheet.at(i - 1), sheet.at(i + 1)
    busy = {
        "unit",
        "noun",
        "span",
        "month",
        "oclock",
        "am",
        "pm",
        "parts",
        "multiple",
        "fraction",
        "per",
    }
    if "ordinal" in sheet.at(i).senses and after.has("weekday"):
        return _weekday(sheet, i + 1, today, tense)
    if sheet.number(i - 2) is not None and before.has("by"):
        return False
    suffix = _suffix(sheet, i + 1)
    end = i + 2 if suffix else i + 1
    if sheet.at(end).senses.keys() & busy or after.raw in ("/", ":", "%", "°", "x", "+"):
        return False
    if "to" in after.senses or after.raw == "-":
        return False
    strong = "ordinal_day" in before.senses or "on_after" in after.senses
    if "on_after" in after.senses:
        end = i + 2
    if not (strong or suffix or ("on" in before.senses and sheet.at(i).n is not None)):
        return False
    follows = sheet.at(end)
    if suffix and not strong and "on" not in before.senses and follows is not END:
        if not {"at", "daypart", "day", "weekday", "clock"} & follows.senses.keys():
            return False  # the 2nd round
    first = i - 1 if {"on", "ordinal_day"} & before.senses.keys() and not before.used else i
    weekday = _with_weekday_before(sheet, first)
    if weekday < first and "weekday" in sheet.at(weekday).senses:
        return _weekday(sheet, weekday, today, tense)
    if _spelt(sheet, i, first, today, tense):
        return True
    for months in (0, -1) if tense == "past" else (0, 1, 2):
        total = today.year * 12 + today.month - 1 + months
        candidate = _day(total // 12, total % 12 + 1, day)
        if candidate and ((candidate <= today) if tense == "past" else (candidate >= today)):
            return _record(sheet, candidate, first, end)
    return False
