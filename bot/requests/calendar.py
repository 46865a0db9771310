"""The people's calendar: market days, feasts, fasting hours, the season of rest."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import Any, ClassVar

from bot.craft import batches
from bot.craft.entries import Entry
from bot.craft.round_plan import Rounds
from bot.facts import Fact, Question, Request, Term
from bot.records.book import Answer, Book
from bot.records.changes import Change, Recorded, Told
from bot.records.meant import plan_after
from bot.records.together import circle_of, everyones, on_circle

KIND = "calendar"
USUAL_RECIPE = "mother"
MOST_MOVED = 4
FOR_EVER = 366


@dataclass(frozen=True, slots=True)
class WhichDay(Fact):
    """Asks on which day it is."""

    words: ClassVar[str] = "calendar.which-day"
    block: Term


@dataclass(frozen=True, slots=True)
class UntilWhen(Fact):
    """Asks until which day it goes."""

    words: ClassVar[str] = "calendar.until-when"
    block: Term


@dataclass(frozen=True, slots=True)
class WhichHours(Fact):
    """Asks from which hour to which hour people fast."""

    words: ClassVar[str] = "calendar.which-hours"


@dataclass(frozen=True, slots=True)
class EndsBefore(Fact):
    """The last day lies before the first."""

    words: ClassVar[str] = "calendar.ends-before"
    first: date
    last: date


@dataclass(frozen=True, slots=True)
class WeeklyShut(Fact):
    """No round falls on this day of the week any more; stirring goes on."""

    words: ClassVar[str] = "calendar.weekly-shut"
    block: Term
    day: date


@dataclass(frozen=True, slots=True)
class DaysShut(Fact):
    """No round falls on these days; stirring goes on."""

    words: ClassVar[str] = "calendar.days-shut"
    block: Term
    first: date
    last: date


@dataclass(frozen=True, slots=True)
class DayShut(Fact):
    """No round falls on this day; stirring goes on."""

    words: ClassVar[str] = "calendar.day-shut"
    block: Term
    on: date


@dataclass(frozen=True, slots=True)
class HoursQuiet(Fact):
    """In these hours of these days nobody is asked for work; it comes when they end."""

    words: ClassVar[str] = "calendar.hours-quiet"
    first: date
    last: date
    since: time
    until: time


@dataclass(frozen=True, slots=True)
class Rests(Fact):
    """The season of rest: no rounds and no new barrels; a word comes before it ends."""

    words: ClassVar[str] = "calendar.rests"
    first: date
    last: date


@dataclass(frozen=True, slots=True)
class StarterLasts(Fact):
    """A starter kept back when the rest begins is still good on the day of the restart."""

    words: ClassVar[str] = "calendar.starter-lasts"
    best: date


@dataclass(frozen=True, slots=True)
class StarterTooOld(Fact):
    """A starter kept back then is past its use before the restart: refresh it, or buy one."""

    words: ClassVar[str] = "calendar.starter-too-old"
    best: date
    refresh: date


@dataclass(frozen=True, slots=True)
class OpenAgain(Fact):
    """The days are open again."""

    words: ClassVar[str] = "calendar.open-again"
    block: Term


@dataclass(frozen=True, slots=True)
class NotShut(Fact):
    """No such days were shut."""

    words: ClassVar[str] = "calendar.not-shut"
    block: Term


@dataclass(frozen=True, slots=True)
class RoundMoves(Fact):
    """A crop's next round moves by it."""

    words: ClassVar[str] = "calendar.round-moves"
    crop: Any
    on: date


@dataclass(frozen=True, slots=True)
class RoundDropsOut(Fact):
    """A crop has no day left for its next round."""

    words: ClassVar[str] = "rounds.no-day-left"
    crop: Any


@dataclass(frozen=True, slots=True)
class NothingShut(Fact):
    """The calendar is empty; what can be put into it."""

    words: ClassVar[str] = "calendar.empty"


def answer(request: Request, book: Book) -> Answer:
    """Keep the days or hours, and say which rounds move by it."""
    slots = request.slots
    if "block" not in slots:
        return _shown(book)
    block: Term = slots["block"]
    first = slots.get("on")
    if request.term("action") == "open":
        return _opened(slots, block, book)
    if block.name == "fasting":
        return _fasting(request, book)
    if block.name == "rest" and "weekday" not in slots:
        return _rest(request, book)
    # A feast on a weekday is that one day; a market is every week's.
    if "weekday" in slots and ("every" in slots or block.name != "feast"):
        weekday = int(slots["weekday"])
        return _shut(
            book,
            WeeklyShut(block, _next_weekday(book.today, weekday)),
            "blocked",
            {
                "weekdays": [weekday],
                "reason": block.name,
            },
        )
    if first is None:
        return Answer(question=Question(WhichDay(block), request, "on"))
    last = slots.get("until", first)
    if last < first:
        return Answer((EndsBefore(first, last),))
    shut = {**_span(first, last), "reason": block.name}
    return _shut(book, _days(block, first, last), "blocked", shut)


def _fasting(request: Request, book: Book) -> Answer:
    slots = request.slots
    block: Term = slots["block"]
    first = slots.get("on", book.today)
    last = slots.get("until")
    if last is None:
        return Answer(question=Question(UntilWhen(block), request.with_slots(on=first), "until"))
    if last < first:
        return Answer((EndsBefore(first, last),))
    hours = slots.get("quiet")
    if hours is None:
        return Answer(question=Question(WhichHours(), request, "quiet"))
    since, until = hours
    data = {
        **_span(first, last),
        "from_hour": since.strftime("%H:%M"),
        "until_hour": until.strftime("%H:%M"),
    }
    return Answer((HoursQuiet(first, last, since, until),), (on_circle(book, "fasting", data),))


def _rest(request: Request, book: Book) -> Answer:
    slots = request.slots
    block: Term = slots["block"]
    first = slots.get("on", book.today)
    last = slots.get("until")
    if last is None:
        return Answer(question=Question(UntilWhen(block), request.with_slots(on=first), "until"))
    if last < first:
        return Answer((EndsBefore(first, last),))
    answer = _shut(book, Rests(first, last), "rest", _span(first, last))
    recipe = book.recipes[USUAL_RECIPE]
    # Kept back on the day the rest begins, a starter is as old as a batch ready on that day.
    _best, most = batches.use_by(recipe, first)
    starter: Fact = StarterLasts(most)
    if most <= last:
        starter = StarterTooOld(most, most - timedelta(days=recipe.ready.cool_days))
    return Answer((answer.facts[0], starter, *answer.facts[1:]), answer.changes)


def _opened(slots: Mapping[str, Any], block: Term, book: Book) -> Answer:
    circle = circle_of(book)
    weekly = sorted(
        day
        for day, why in circle.shut_weekdays.items()
        if why == block.name and slots.get("weekday", day) == day
    )
    if weekly:
        data: dict[str, object] = {"weekdays": weekly}
    elif "on" in slots:
        data = _span(slots["on"], slots.get("until", slots["on"]))
    elif "weekday" in slots:
        return Answer((NotShut(block),))
    else:
        data = _span(book.today, book.today + timedelta(days=FOR_EVER))
    return _shut(book, OpenAgain(block), "opened", {**data, "reason": block.name})


def _shut(book: Book, fact: Fact, entry: str, data: Mapping[str, object]) -> Answer:
    """One entry on the circle, and the same on every plan of rounds; the rounds that move by it."""
    plain = {name: said for name, said in data.items() if name != "reason"}
    on_plans = "blocked" if entry == "rest" else entry
    changes: list[Change] = [on_circle(book, entry, data), Told((fact,), board=True)]
    if data.get("reason") == "fasting":  # hours of asking are no days without rounds
        return Answer((fact,), tuple(changes))
    moved: list[Fact] = []
    for plan in everyones(book):
        after = plan_after(plan, Entry(on_plans, book.said_at, plain), book).ahead(book.today)
        changes.append(Recorded(plan.id, on_plans, book.said_at, plain, aside=True))
        if after.next_on != plan.next_on:
            moved.append(_moved(plan, after))
    return Answer((fact, *moved[:MOST_MOVED]), tuple(changes))


def _moved(before: Rounds, after: Rounds) -> Fact:
    crop = Term("crop", before.crop)
    return RoundDropsOut(crop) if after.next_on is None else RoundMoves(crop, after.next_on)


def _shown(book: Book) -> Answer:
    circle = circle_of(book)
    entries: list[Fact] = [
        WeeklyShut(Term("block", why), _next_weekday(book.today, weekday))
        for weekday, why in sorted(circle.shut_weekdays.items())
    ]
    entries += [
        _days(Term("block", shut.reason), shut.span.first_on, shut.span.last_on)
        for shut in circle.shut
        if shut.span.last_on >= book.today
    ]
    entries += [
        HoursQuiet(fast.span.first_on, fast.span.last_on, fast.from_hour, fast.until_hour)
        for fast in circle.fasting
        if fast.span.last_on >= book.today
    ]
    entries += [
        Rests(rest.first_on, rest.last_on) for rest in circle.rests if rest.last_on >= book.today
    ]
    return Answer(tuple(entries) or (NothingShut(),))


def _days(block: Term, first: date, last: date) -> Fact:
    return DayShut(block, first) if last == first else DaysShut(block, first, last)


def _span(first: date, last: date) -> dict[str, object]:
    return {"from_on": first.isoformat(), "until_on": last.isoformat()}


def _next_weekday(today: date, weekday: int) -> date:
    return today + timedelta(days=(weekday - today.weekday()) % 7)
