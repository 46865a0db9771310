"""Days counted from today: tomorrow, 5 days ago, in 2 weeks, a week from today; and feasts."""

from __future__ import annotations

from calendar import monthrange
from datetime import date, datetime, timedelta
from decimal import Decimal

from bot.language.day_parts import day_of, nearest_year, record, year_after
from bot.language.durations import length_at
from bot.language.pieces import Sheet
from bot.language.reading import Doubt

CAP_DAYS = 3 * 366
"""A date further away than three years is no farm date; only a year in digits goes further."""


def relative(sheet: Sheet, i: int, today: date, tense: str) -> bool:
    """Tomorrow, the day before yesterday; a word for either side goes by the tense."""
    offsets: tuple[int, ...] = sheet.at(i).senses["day"]
    before = sheet.at(i - 1)
    if len(offsets) == 1:
        if before.has("after") and offsets == (0,) and "span" in sheet.at(i - 2).senses:
            return False  # 5 days after today: counted from now
        further = before.has("day_after") - before.has("day_before")
        first = i - 1 if further else i
        return record(sheet, today + timedelta(days=offsets[0] + further), first, i + 1)
    past, future = (today + timedelta(days=offset) for offset in offsets[:2])
    if not tense:
        sheet.aside("doubt", Doubt("tense", (future, past)), i, i + 1)
    return record(sheet, past if tense == "past" else future, i, i + 1)


def feast(sheet: Sheet, i: int, today: date) -> bool:
    """Christmas, Easter 2027: the next one, or that of the year that is said."""
    named: str = sheet.at(i).senses["feast"]
    year, end = year_after(sheet, i + 1)
    before = "last" in sheet.at(i - 1).senses
    if named.startswith("easter"):
        away = timedelta(days=int(named.removeprefix("easter") or 0))
        years = (year,) if year else range(today.year - 1, today.year + 2)
        days = [easter(each) + away for each in years]
        if not year:
            days = [day for day in days if (day < today if before else day >= today)]
        return record(sheet, days[-1 if before else 0], i, end)
    month, day = (int(part) for part in named.split("-"))
    tense = "past" if before else "future"
    found = day_of(year, month, day) if year else nearest_year(month, day, today, tense)
    return record(sheet, found, i, end)


def easter(year: int) -> date:
    """Easter Sunday of a year, by the Gregorian calendar.

    Source: the anonymous Gregorian computus, as in Meeus, Astronomical Algorithms, chapter 8.

    >>> easter(2026)
    datetime.date(2026, 4, 5)
    """
    golden, century, part = year % 19, year // 100, year % 100
    leaps = (century - (century + 8) // 25 + 1) // 3
    moon = (19 * golden + century - century // 4 - leaps + 15) % 30
    week = (32 + 2 * (century % 4) + 2 * (part // 4) - moon - part % 4) % 7
    late = (golden + 11 * moon + 22 * week) // 451
    month, day = divmod(moon + week - 7 * late + 114, 31)
    return date(year, month, day + 1)


def from_now(sheet: Sheet, i: int, ref: datetime) -> bool:
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
    return record(sheet, moment.date(), first, end)


def _direction(sheet: Sheet, start: int, end: int) -> tuple[int, int, int]:
    """-1 for ago, 1 for ahead, 0 for neither; and where the words for it stand."""
    while sheet.free(start - 1, "about"):
        start -= 1
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
