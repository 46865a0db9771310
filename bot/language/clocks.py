"""Times of day, in each language's own habit of saying them."""

from __future__ import annotations

import re
from decimal import Decimal

from bot.language.hours import AFTER_HOUR, QUARTERS, is_daypart, is_marked, minutes_after, record
from bot.language.pieces import Sheet
from bot.language.ratios import looks_like_clock


def find(sheet: Sheet) -> None:
    """Record the times of a message."""
    index = 0
    while index < len(sheet.pieces):
        piece = sheet.pieces[index]
        if not piece.used:
            if piece.n is not None:
                _hour(sheet, index)
            elif "clock" in piece.senses:
                _named(sheet, index)
            elif "shift" in piece.senses and piece.senses.keys().isdisjoint(("num", "unit")):
                _shift_first(sheet, index)
        index += 1


def _hour(sheet: Sheet, i: int) -> bool:
    if sheet.at(i - 1).raw in ("/", ":", "#", "$", "€", "£", "₹") or sheet.at(i + 1).raw in (
        "/",
        "%",
    ):
        return False
    return (
        _colon(sheet, i)
        or _minutes_first(sheet, i)
        or _glued_h(sheet, i)
        or _worded(sheet, i)
        or _digits(sheet, i)
        or _half_before(sheet, i)
    )


def _colon(sheet: Sheet, i: int) -> bool:
    """6:30, 18:00, 12:34:25, 9: 00."""
    if sheet.at(i + 1).raw != ":" or not looks_like_clock_loose(sheet, i):
        return False
    end = i + 3
    if sheet.at(end).raw == ":" and sheet.number(end + 1) is not None:
        end += 2
    if sheet.at(end).raw == ":":
        return False
    return record(sheet, int(sheet.at(i).raw), int(sheet.at(i + 2).raw), i, end, exact=True)


def looks_like_clock_loose(sheet: Sheet, i: int) -> bool:
    """Whether free digits around a colon can be a time."""
    if sheet.number(i) is None or sheet.number(i + 2) is None:
        return False
    if sheet.at(i + 3).raw == ":":
        return (
            sheet.at(i + 2).raw.isdigit()
            and sheet.at(i).raw.isdigit()
            and int(sheet.at(i + 2).raw) < 60
            and int(sheet.at(i).raw) < 25
            and len(sheet.at(i + 2).raw) == 2
        )
    return looks_like_clock(sheet, i)


def _glued_h(sheet: Sheet, i: int) -> bool:
    """17h30, 6h: hours and minutes around the letter."""
    letter, hour = sheet.at(i + 1), sheet.at(i)
    if "oclock" not in letter.senses or "span" not in letter.senses or not hour.raw.isdigit():
        return False
    if len(hour.raw) > 2 or len(letter.raw) > 2:
        return False
    minutes = sheet.at(i + 2)
    if minutes.raw.isdigit() and len(minutes.raw) == 2 and int(minutes.raw) < 60:
        if _lasts(sheet, i):
            return False
        apart = AFTER_HOUR.isdisjoint(sheet.at(i + 3).senses) and letter.gap == ""
        if minutes.gap == "" or "at" in sheet.at(i - 1).senses or apart:
            return record(sheet, int(hour.raw), int(minutes.raw), i, i + 3, exact=True)
    if letter.gap == "" and not _lasts(sheet, i):
        more, end = 0, i + 2
        if {"and", "minus", "shift"} & sheet.at(end).senses.keys():
            more, end = minutes_after(sheet, end, spoken=True)
        return record(sheet, int(hour.raw), more, i, end, exact=True)
    return False


def _lasts(sheet: Sheet, i: int) -> bool:
    """Whether the words before a number make it a length of time."""
    before = sheet.at(i - 1).senses
    return bool({"lasting", "each", "within", "ago", "after"} & before.keys()) or bool(
        {"ago", "after", "from_now"} & sheet.at(i + 2).senses.keys()
    )


def _worded(sheet: Sheet, i: int) -> bool:
    """At six, six o'clock, six in the morning, 6 e meia, six heures dix, at 3 15."""
    hour, minutes = _clock_value(sheet.at(i).n)
    end = i + 1
    before = sheet.at(i - 1)
    if hour is None:
        run = _run_together(sheet, i)
        return run is not None and (
            (before.has("at") or is_marked(sheet, end) or sheet.at(end).has("oclock"))
            and record(sheet, *run, i, sheet.past(end, "oclock"), exact=False)
        )
    said_at = before.has("at")
    if sheet.lexicon.habits.unit_first and before.has("unit") and not said_at:
        return False  # lita kumi jana jioni
    bell = False
    if sheet.free(end, "oclock"):
        letter = sheet.at(end)
        lasting = "span" in letter.senses and not (
            said_at or is_daypart(sheet, end + 1) or is_marked(sheet, end + 1)
        )
        if lasting and (_lasts(sheet, i) or not _exact_follows(sheet, end + 1)):
            return False
        bell, end = True, end + 1
    elif (
        sheet.free(end, "about")
        and sheet.at(end).gap in ("", "-")
        and AFTER_HOUR.isdisjoint(sheet.at(end + 1).senses)
    ):
        bell, end = True, end + 1
    spoken = said_at or bell or before.has("daypart")
    more, end = minutes_after(sheet, end, spoken=spoken)
    if more:
        minutes += more
        bell = bell or abs(more) in (15, 30, 45) or said_at
    in_part = is_daypart(sheet, end)
    near_part = in_part or ("daypart" in before.senses and not before.used)
    half = "half_hour" in sheet.at(i).senses and hour >= 1
    marked = is_marked(sheet, end)
    if not (said_at or bell or near_part or marked or half):
        return False
    if not (bell or marked or in_part) and not AFTER_HOUR.isdisjoint(sheet.at(end).senses):
        if sheet.at(end).gap not in (",", "."):
            return False
    if "span" in before.senses and said_at and not _said_hour(sheet, i):
        return False
    if not (bell or marked or near_part or half) and _no_bare_hour(sheet, i, end):
        return False
    first = i - 1 if said_at else i
    return record(sheet, hour, minutes, first, end, exact=False)


def _said_hour(sheet: Sheet, i: int) -> bool:
    """Whether an hour word before its number (saa 2) is the clock and not so many hours."""
    if {"lasting", "each", "within", "after", "ago"} & sheet.at(i - 2).senses.keys():
        return False
    if {"ago", "from_now"} & sheet.at(i + 1).senses.keys():
        return False
    return len(sheet.pieces) > 2 or not sheet.at(i).raw.isdigit()


def _run_together(sheet: Sheet, i: int) -> tuple[int, int] | None:
    """Hour and minutes of number words that ran together: eight forty, five thirty."""
    piece = sheet.at(i)
    value = piece.n
    if piece.raw[:1].isdigit() or value is None or not 100 <= value < 2400 or value != int(value):
        return None
    hour, minutes = divmod(int(value), 100)
    return (hour, minutes) if minutes < 60 else None


def _exact_follows(sheet: Sheet, i: int) -> bool:
    """Whether minutes follow an hour word, so that it is a time and no length of time."""
    if {"shift", "minus", "past"} & sheet.at(i).senses.keys():
        return True
    value = sheet.number(i)
    if value in QUARTERS:
        return True
    if "and" in sheet.at(i).senses and sheet.number(i + 1) in QUARTERS:
        return is_daypart(sheet, i + 2) or is_marked(
            sheet, i + 2
        )  # an hour and a half of the afternoon is half past one
    return (
        sheet.lexicon.habits.hour_then_minutes
        and value is not None
        and 1 <= value < 60
        and AFTER_HOUR.isdisjoint(sheet.at(i + 1).senses)
    )


def _no_bare_hour(sheet: Sheet, i: int, end: int) -> bool:
    """Whether a number after `at` is no hour after all: a range, a rate, a temperature, 28."""
    value = sheet.at(i).n
    after = sheet.at(end)
    if value is None or value > 24 or (value != int(value) and sheet.at(i).raw[:1].isdigit()):
        return True
    if after.raw in (":", "/", "%", "°", "+", "-", "x"):
        return True
    if "to" in after.senses and sheet.number(end + 1) is not None:
        return True
    if "by" in sheet.at(i - 1).senses and sheet.number(i - 2) is not None:
        return True  # 2 by 2
    return sheet.number(i - 2) is not None and "to" in sheet.at(i - 1).senses


def _clock_value(value: Decimal | None) -> tuple[int | None, int]:
    """Hour and minutes of a number said as a time: 6.5 is half past six."""
    if value is None or not 0 <= value <= 24 or 0 < value < 1:
        return None, 0
    hour = int(value)
    part = value - hour
    if part not in (0, Decimal("0.5"), Decimal("0.25"), Decimal("0.75")):
        return None, 0
    return hour, int(part * 60)


def _digits(sheet: Sheet, i: int) -> bool:
    """1030, 7.30, 15.30: digits that are a time because of what stands beside them."""
    piece = sheet.at(i)
    short = re.fullmatch(r"(\d{1,2})[.](\d\d)", piece.raw)
    full = re.fullmatch(r"(\d\d?)(\d\d)", piece.raw)
    form = short or full
    if form is None or int(form[1]) > 24 or int(form[2]) > 59:
        return False
    end = i + 1
    glued = len(piece.raw) == 4 and sheet.at(end).gap == ""  # 0630hrs
    if glued or "span" not in sheet.at(end).senses:
        end = sheet.past(end, "oclock")
    beside = (
        is_marked(sheet, end)
        or "daypart" in sheet.at(end).senses
        or "daypart" in sheet.at(i - 1).senses
        or (short is None and _after_day_and_month(sheet, i))
    )
    if short and len(form[1]) == 2 and form[1][0] == "0" and int(form[2]) > 12:
        beside = beside or "on" not in sheet.at(i - 1).senses  # 08.40 is no amount
    said_at = sheet.free(i - 1, "at") and len(piece.raw) > 3
    comma_language = short and sheet.lexicon.habits.decimal == "," and len(sheet.pieces) == 1
    if not (end > i + 1 or beside or said_at or comma_language):
        return False
    marked = is_marked(sheet, end) or "daypart" in sheet.at(end).senses
    if AFTER_HOUR & sheet.at(end).senses.keys() and not (end > i + 1 or marked):
        return False  # yesterday evening 150 l
    return record(sheet, int(form[1]), int(form[2]), i - 1 if said_at else i, end, exact=True)


def _after_day_and_month(sheet: Sheet, i: int) -> bool:
    """Whether four digits behind a day and month can only be a time (3 Dec 2125)."""
    if len(sheet.at(i).raw) != 4 or 1900 <= int(sheet.at(i).raw) <= 2100:
        return False
    return "month" in sheet.at(i - 1).senses or (
        "month" in sheet.at(i - 2).senses and sheet.at(i - 1).n is not None
    )


def _half_before(sheet: Sheet, i: int) -> bool:
    """Half three, as some say for half past three."""
    before = sheet.at(i - 1)
    hour = sheet.number(i)
    if before.used or "half_before" not in before.senses or hour is None or not 1 <= hour <= 12:
        return False
    if "article" in sheet.at(i).senses:
        return False
    if not AFTER_HOUR.isdisjoint(sheet.at(i + 1).senses) or hour != int(hour):
        return False
    return record(sheet, int(hour), 30, i - 1, i + 1, exact=False)


def _minutes_first(sheet: Sheet, i: int) -> bool:
    """Ten past six, 20 minutes to 7, quinze para o meio dia."""
    value = sheet.number(i)
    if value == QUARTERS[0] and "until" in sheet.at(i + 1).senses:
        return _around_hour(sheet, i + 2, -15, i, certain=False)  # cuarto para las ocho
    if value is None or value != int(value) or not 0 < value < 60:
        return False
    end = sheet.past(i + 1, "minute")
    piece = sheet.at(end)
    if piece.used or not {"past", "until"} & piece.senses.keys():
        return False
    if "until" in piece.senses and end == i + 1 and value % 5:
        return False  # 6 to 8 is from six to eight
    sign = 1 if "past" in piece.senses else -1
    return _around_hour(sheet, end + 1, sign * int(value), i, certain=end > i + 1)


def _shift_first(sheet: Sheet, i: int) -> bool:
    """Quarter to seven, half past six, kasorobo saa mbili."""
    return _around_hour(sheet, i + 1, int(sheet.at(i).senses["shift"]), i, certain=True)


def _around_hour(sheet: Sheet, j: int, minutes: int, first: int, *, certain: bool) -> bool:
    j = sheet.past(sheet.past(j, "at"), "article")
    piece = sheet.at(j)
    if piece.has("clock"):
        hour, low = (int(part) for part in piece.senses["clock"].split(":"))
        return record(sheet, hour, low + minutes, first, j + 1, exact=True)
    if sheet.number(j) is None:
        return False
    hour_value, low = _run_together(sheet, j) or _clock_value(piece.n)
    if hour_value is None or (hour_value > 12 and not certain):
        return False
    end = j + 1
    if not certain and sheet.at(end).senses.keys() & (AFTER_HOUR | {"to"}):
        return False
    if sheet.at(end).has("oclock"):
        end += 1
        after = sheet.number(end)
        if after is not None and after < 60:
            low, end = int(after), end + 1
    else:
        more, end = minutes_after(sheet, end, spoken=True)
        low += more
    return record(sheet, hour_value, low + minutes, first, end, exact=False)


def _named(sheet: Sheet, i: int) -> bool:
    """Noon, midnight, midi moins le quart."""
    hour, minutes = (int(part) for part in sheet.at(i).senses["clock"].split(":"))
    first = i - 1 if sheet.number(i - 1) == 12 else i
    more, end = minutes_after(sheet, i + 1, spoken=True)
    return record(sheet, hour, minutes + more, first, end, exact=True, named=True)
