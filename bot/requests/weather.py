"""Rain: everybody's rounds wait for it to end; the first rains call for seed to be treated."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, ClassVar

from bot.craft.entries import Entry
from bot.craft.round_plan import Rounds
from bot.facts import Fact, Request, Term
from bot.records.book import Answer, Book
from bot.records.changes import Change, Recorded, Told
from bot.records.meant import plan_after
from bot.records.together import called, circle_of, everyones, on_circle

KIND = "weather"
SOON_DAYS = 3
"""Members are told of a wait only where a round of theirs is as near as this. Ours, no source."""


@dataclass(frozen=True, slots=True)
class Held(Fact):
    """Every round of the group waits; what to send when it is dry again."""

    words: ClassVar[str] = "weather.held"


@dataclass(frozen=True, slots=True)
class HeldAlready(Fact):
    """The rounds wait already, since a day."""

    words: ClassVar[str] = "weather.held-already"
    since: date


@dataclass(frozen=True, slots=True)
class WaitsForDry(Fact):
    """To a member: somebody saw rain, and the round of this crop waits."""

    words: ClassVar[str] = "weather.your-round-waits"
    who: Any
    crop: Any


@dataclass(frozen=True, slots=True)
class Released(Fact):
    """The rounds go on."""

    words: ClassVar[str] = "weather.released"


@dataclass(frozen=True, slots=True)
class NextRound(Fact):
    """A crop's next round, and its day."""

    words: ClassVar[str] = "weather.next-round"
    crop: Any
    on: date


@dataclass(frozen=True, slots=True)
class NothingWaits(Fact):
    """No rounds were waiting."""

    words: ClassVar[str] = "weather.nothing-waits"


@dataclass(frozen=True, slots=True)
class RainsNoted(Fact):
    """The rains came: seed is treated now, members hear of it; how to make the rounds wait."""

    words: ClassVar[str] = "weather.rains-noted"
    on: date


@dataclass(frozen=True, slots=True)
class IfWashedOff(Fact):
    """A round was done within a day: what to send if rain took it off."""

    words: ClassVar[str] = "weather.if-washed-off"
    crop: Any


def answer(request: Request, book: Book) -> Answer:
    """Hold the rounds, release them, or keep that the rains have come."""
    action = request.term("action")
    plans = everyones(book)
    if action == "hold":
        return _held(book, plans)
    if action == "release":
        return _released(book, plans)
    return _rains(request, book, plans)


def _held(book: Book, plans: Sequence[Rounds]) -> Answer:
    since = circle_of(book).held_since
    if since is not None:
        return Answer((HeldAlready(since),))
    waits = {
        each.id: Recorded(each.id, "hold", book.said_at, aside=True)
        for each in plans
        if not each.held
    }
    told = _told(
        book,
        [each for each in plans if _is_soon(each.next_on, book.today)],
        lambda plan: WaitsForDry(called(book.member), Term("crop", plan.crop)),
    )
    board = Told((Held(),), board=True)
    return Answer((Held(),), (on_circle(book, "hold", {}), *waits.values(), *told, board))


def _released(book: Book, plans: Sequence[Rounds]) -> Answer:
    if circle_of(book).held_since is None:
        return Answer((NothingWaits(),))
    waiting = [each for each in plans if each.held]
    after = {
        each.id: plan_after(each, Entry("release", book.said_at), book).ahead(book.today)
        for each in waiting
    }
    go_on = [Recorded(each.id, "release", book.said_at, aside=True) for each in waiting]
    soon = [each for each in after.values() if _is_soon(each.next_on, book.today)]
    told = _told(book, soon, _next)
    own = [_next(each) for each in soon if book.owner_of(each.id) == book.member.id]
    board = Told((Released(), *map(_next, soon)), board=True)
    return Answer((Released(), *own), (on_circle(book, "release", {}), *go_on, *told, board))


def _rains(request: Request, book: Book, plans: Sequence[Rounds]) -> Answer:
    on = min(request.slots.get("on", book.today), book.today + timedelta(days=7))
    facts: list[Fact] = [RainsNoted(on)]
    facts += [
        IfWashedOff(Term("crop", each.crop))
        for each in plans
        if each.done
        and (book.today - each.done[-1].on).days <= 1
        and book.owner_of(each.id) == book.member.id
    ][:1]
    return Answer(tuple(facts), (on_circle(book, "rains", {"on": on.isoformat()}),))


def _next(plan: Rounds) -> Fact:
    assert plan.next_on is not None  # noqa: S101 - only asked of plans with a round soon
    return NextRound(Term("crop", plan.crop), plan.next_on)


def _is_soon(day: date | None, today: date) -> bool:
    return day is not None and day <= today + timedelta(days=SOON_DAYS)


def _told(book: Book, plans: Sequence[Rounds], fact: Any) -> list[Change]:
    """One word to each other member whose rounds these are."""
    theirs: dict[str, list[Fact]] = {}
    for plan in plans:
        owner = book.owner_of(plan.id)
        if owner != book.member.id:
            theirs.setdefault(owner, []).append(fact(plan))
    return [Told(tuple(facts), member_id=owner) for owner, facts in theirs.items()]
