"""A barrel was stirred."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any, ClassVar

from bot.craft import batches
from bot.facts import Fact, Request
from bot.records import meant
from bot.records.book import Answer, Book
from bot.records.changes import Change, Recorded, Told
from bot.records.together import called, on_rota, rota_after, rota_of

KIND = "stir"


@dataclass(frozen=True, slots=True)
class Stirred(Fact):
    """Which barrels were stirred, and on which day."""

    words: ClassVar[str] = "stir.stirred"
    barrels: tuple[str, ...]
    on: date


@dataclass(frozen=True, slots=True)
class NotStirred(Fact):
    """It was said that they were not stirred; that is kept as well."""

    words: ClassVar[str] = "stir.not-stirred"
    barrels: tuple[str, ...]
    on: date


@dataclass(frozen=True, slots=True)
class PassedOn(Fact):
    """Who is asked to stir instead."""

    words: ClassVar[str] = "stir.passed-on"
    who: Any


@dataclass(frozen=True, slots=True)
class TurnPassed(Fact):
    """To the next one: these barrels were not stirred on the day; can you?"""

    words: ClassVar[str] = "stir.turn-passed"
    barrels: tuple[str, ...]
    on: date
    who: Any


@dataclass(frozen=True, slots=True)
class NothingToStir(Fact):
    """No barrel of the group is fermenting."""

    words: ClassVar[str] = "stir.nothing"


def answer(request: Request, book: Book) -> Answer:
    """Keep the stir of the barrels named, or of all that ferment."""
    slots = request.slots
    live = [each for each in book.open(batches.SUBJECT, batches.fold) if each.is_live]
    fermenting = [each for each in live if each.state == "fermenting"]
    if not fermenting and not slots.get("which"):
        return Answer((NothingToStir(),))
    chosen = meant.barrels(live, request, fermenting)
    if isinstance(chosen, Answer):
        return chosen
    on = min(slots.get("on", book.today), book.today)
    codes = tuple(each.code for each in chosen)
    if slots.get("done") is False:
        missed = {"on": on.isoformat(), "missed": True}
        passed, changes = _passed_on(book, codes, on)
        return Answer(
            (NotStirred(codes, on), *passed),
            (*(Recorded(each.id, "stir", book.said_at, missed) for each in chosen), *changes),
        )
    data = {"on": on.isoformat()}
    # A plan of turns counts who stirs; where there is none nothing is kept of it.
    turn = (on_rota(book, "stirred", data, aside=True),) if rota_of(book).tenders else ()
    return Answer(
        (Stirred(codes, on),),
        (*(Recorded(each.id, "stir", book.said_at, data) for each in chosen), *turn),
    )


def _passed_on(
    book: Book, codes: tuple[str, ...], on: date
) -> tuple[tuple[Fact, ...], tuple[Change, ...]]:
    """A missed turn of today passes to the next, who hears of it at once."""
    rota = rota_of(book)
    if not rota.tenders or on < rota.as_of or rota.turn(on).holder != book.member.id:
        return (), ()
    data = {"on": on.isoformat()}
    following = rota_after(book, [("missed", data)]).turn(on).holder
    missed = on_rota(book, "missed", data, aside=True)
    if following == book.member.id:
        return (), (missed,)
    who = next((each for each in book.members() if each.id == following), None)
    told = Told((TurnPassed(codes, on, called(book.member)),), member_id=following)
    return (PassedOn(called(who)),), (missed, told)
