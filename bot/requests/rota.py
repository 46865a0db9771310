"""Whose turn it is to stir: the turns, who takes part, days away, swaps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, ClassVar

from bot.craft.rota import Rota
from bot.facts import Fact, Question, Request, Term
from bot.records.book import Answer, Book
from bot.records.changes import Change, Told
from bot.records.people import Member
from bot.records.permission import refused
from bot.records.together import called, called_here, named, on_circle, on_rota, rota_after, rota_of

KIND = "rota"
SHOWN_DAYS = 7


@dataclass(frozen=True, slots=True)
class Turns(Fact):
    """The stir turns of the days to come."""

    words: ClassVar[str] = "rota.turns"
    turns: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class TurnOf(Fact):
    """Whose turn a day is."""

    words: ClassVar[str] = "rota.turn-of"
    on: date
    who: Any


@dataclass(frozen=True, slots=True)
class NoRota(Fact):
    """Nobody is on the rota: who started a barrel stirs it; how to make one."""

    words: ClassVar[str] = "rota.none"


@dataclass(frozen=True, slots=True)
class JoinedRota(Fact):
    """Who is on the rota from now on."""

    words: ClassVar[str] = "rota.joined"
    who: tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class LeftRota(Fact):
    """Who is on the rota no longer."""

    words: ClassVar[str] = "rota.left"
    who: Any


@dataclass(frozen=True, slots=True)
class NotOnRota(Fact):
    """This person is not on the rota; how to get there."""

    words: ClassVar[str] = "rota.not-on-it"
    who: Any


@dataclass(frozen=True, slots=True)
class YouNotOnRota(Fact):
    """The member is not on the rota; how to get there."""

    words: ClassVar[str] = "rota.you-not-on-it"


@dataclass(frozen=True, slots=True)
class NobodyElse(Fact):
    """Nobody else is on the rota to swap with."""

    words: ClassVar[str] = "rota.nobody-else"


@dataclass(frozen=True, slots=True)
class AwayOn(Fact):
    """Who is not asked on these days."""

    words: ClassVar[str] = "rota.away"
    first: date
    last: date


@dataclass(frozen=True, slots=True)
class AwayOneDay(Fact):
    """Who is not asked on one day."""

    words: ClassVar[str] = "rota.away-one-day"
    on: date


@dataclass(frozen=True, slots=True)
class TakesOver(Fact):
    """Who stirs on a day instead."""

    words: ClassVar[str] = "rota.takes-over"
    who: Any
    on: date


@dataclass(frozen=True, slots=True)
class NobodyCan(Fact):
    """Nobody on the rota can on that day: somebody has to be found."""

    words: ClassVar[str] = "rota.nobody-can"
    on: date


@dataclass(frozen=True, slots=True)
class BackOn(Fact):
    """The member is asked again from a day on."""

    words: ClassVar[str] = "rota.back"
    on: date


@dataclass(frozen=True, slots=True)
class YourTurn(Fact):
    """To the one who takes over: the day is yours; who could not; what to send if you cannot."""

    words: ClassVar[str] = "rota.your-turn"
    on: date
    who: Any


@dataclass(frozen=True, slots=True)
class Swapped(Fact):
    """Two turns changed hands: your day and theirs."""

    words: ClassVar[str] = "rota.swapped"
    who: Any
    theirs: date
    yours: date


@dataclass(frozen=True, slots=True)
class SwapTold(Fact):
    """To the other one of a swap: who asked, your new day and the one you gave."""

    words: ClassVar[str] = "rota.swap-told"
    who: Any
    yours: date
    theirs: date


@dataclass(frozen=True, slots=True)
class NothingToSwap(Fact):
    """One of the two has no turn in the days to come."""

    words: ClassVar[str] = "rota.nothing-to-swap"
    who: Any


@dataclass(frozen=True, slots=True)
class WithWhom(Fact):
    """Asks with whom to swap; who is on the rota."""

    words: ClassVar[str] = "rota.with-whom"
    who: tuple[Any, ...]


def answer(request: Request, book: Book) -> Answer:
    """Show the turns, or change them and say who stirs instead."""
    slots = request.slots
    action = request.term("action") or "show"
    if action == "show":
        return _shown(slots, book)
    who = named(str(slots["member"]), book) if "member" in slots else book.member
    if isinstance(who, Answer):
        return who
    own = who.id == book.member.id or action == "swap"
    no = refused(book, "rota", own=own and action != "all")
    if no is not None:
        return no
    return _ACTIONS[action](request, book, who)


def _shown(slots: Mapping[str, Any], book: Book) -> Answer:
    rota = rota_of(book)
    if not rota.tenders:
        return Answer((NoRota(),))
    on = slots.get("on")
    if on is not None and on >= rota.as_of:
        holder = rota.turn(on).holder
        return Answer((TurnOf(on, _name(holder, book)) if holder else NobodyCan(on),))
    return Answer((Turns(_turns(rota, book)),))


def _turns(rota: Rota, book: Book) -> tuple[Fact, ...]:
    return tuple(
        TurnOf(turn.on, _name(turn.holder, book)) if turn.holder else NobodyCan(turn.on)
        for turn in rota.turns(SHOWN_DAYS)
    )


def _join(request: Request, book: Book, who: Member) -> Answer:
    return _joined(book, (who,), request.slots.get("weekdays"))


def _all(_request: Request, book: Book, _who: Member) -> Answer:
    return _joined(book, book.members(), None)


def _joined(book: Book, members: Sequence[Member], weekdays: Sequence[int] | None) -> Answer:
    told = [
        ("joined", {"who": each.id, **({"weekdays": list(weekdays)} if weekdays else {})})
        for each in members
    ]
    after = rota_after(book, told)
    names = tuple(called_here(each, book) for each in members)
    changes = [on_rota(book, kind, data) for kind, data in _as_one(told)]
    # The circle carries the keeper's daily list: it is there from the first shared thing on.
    shared = on_circle(book, "turns", {}, aside=True)
    return Answer((JoinedRota(names), Turns(_turns(after, book))), (*changes, shared))


def _as_one(told: Sequence[tuple[str, Mapping[str, object]]]) -> list[tuple[str, Any]]:
    """Several who join as one entry: a rota that is not there yet is opened once."""
    if len(told) == 1:
        return list(told)
    return [("joined", {"who": [data["who"] for _kind, data in told]})]


def _leave(_request: Request, book: Book, who: Member) -> Answer:
    rota = rota_of(book)
    if who.id not in rota.tenders:
        return _not_on_it(who, book)
    after = rota_after(book, [("left", {"who": who.id})])
    rest: tuple[Fact, ...] = (Turns(_turns(after, book)),) if after.tenders else (NoRota(),)
    return Answer(
        (LeftRota(called_here(who, book)), *rest), (on_rota(book, "left", {"who": who.id}),)
    )


def _away(request: Request, book: Book, who: Member) -> Answer:
    rota = rota_of(book)
    if who.id not in rota.tenders:
        return _not_on_it(who, book)
    first = max(request.slots.get("on", book.today), book.today)
    last = max(request.slots.get("until", first), first)
    data = {"who": who.id, "from_on": first.isoformat(), "until_on": last.isoformat()}
    after = rota_after(book, [("away", data)])
    said: list[Fact] = [AwayOneDay(first) if first == last else AwayOn(first, last)]
    told: list[Change] = []
    for on in _days_of(rota, who.id, first, last):
        holder = after.turn(on).holder
        other = holder if holder != who.id else ""
        said.append(TakesOver(_name(other, book), on) if other else NobodyCan(on))
        if other and on <= book.today + timedelta(days=1):
            told.append(Told((YourTurn(on, called(who)),), member_id=holder))
    return Answer(tuple(said), (on_rota(book, "away", data), *told))


def _days_of(rota: Rota, who: str, first: date, last: date) -> list[date]:
    """The days within a span on which the turn was theirs; at most those shown."""
    days = (last - rota.as_of).days + 1
    return [
        turn.on for turn in rota.turns(min(days, 60)) if turn.on >= first and turn.holder == who
    ][:SHOWN_DAYS]


def _back(request: Request, book: Book, who: Member) -> Answer:
    if who.id not in rota_of(book).tenders:
        return _not_on_it(who, book)
    on = max(request.slots.get("on", book.today), book.today)
    last = request.slots.get("until", on + timedelta(days=366))
    data = {"who": who.id, "from_on": on.isoformat(), "until_on": last.isoformat()}
    return Answer((BackOn(on),), (on_rota(book, "back", data),))


def _swap(request: Request, book: Book, other: Member) -> Answer:
    rota = rota_of(book)
    me = book.member
    if me.id not in rota.tenders:
        return _not_on_it(me, book)
    if other.id == me.id:
        names = tuple(_name(each, book) for each in rota.tenders if each != me.id)
        if not names:
            return Answer((NobodyElse(),))
        return Answer(question=Question(WithWhom(names), request, "member"))
    if other.id not in rota.tenders:
        return _not_on_it(other, book)
    # Today's turn may be under way: it is swapped only where it is named.
    wanted = request.slots.get("on")
    turns = [turn for turn in rota.turns(60) if turn.on > book.today or turn.on == wanted]
    mine = next(
        (turn.on for turn in turns if turn.holder == me.id and wanted in {None, turn.on}), None
    )
    theirs = next((turn.on for turn in turns if turn.holder == other.id), None)
    if mine is None or theirs is None:
        return Answer((NothingToSwap(called(me if mine is None else other)),))
    first = {"on": mine.isoformat(), "who": other.id}
    second = {"on": theirs.isoformat(), "who": me.id}
    told = Told((SwapTold(called(me), mine, theirs),), member_id=other.id)
    changes = (on_rota(book, "swap", first), on_rota(book, "swap", second, aside=True), told)
    return Answer((Swapped(called(other), mine, theirs),), changes)


_ACTIONS = {
    "join": _join,
    "all": _all,
    "leave": _leave,
    "away": _away,
    "back": _back,
    "swap": _swap,
}


def _not_on_it(who: Member, book: Book) -> Answer:
    return Answer((YouNotOnRota() if who.id == book.member.id else NotOnRota(called(who)),))


def _name(member_id: str, book: Book) -> str | Term:
    return called_here(next((each for each in book.members() if each.id == member_id), None), book)
