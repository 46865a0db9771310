"""What a group shares, read back and written on: its circle, its rota, everybody's rounds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, ClassVar

from bot.craft import circle as circles
from bot.craft import rota as rotas
from bot.craft import rounds
from bot.craft.circle import Circle
from bot.craft.entries import Entry, Head
from bot.craft.rota import Rota
from bot.craft.round_plan import Rounds
from bot.facts import Fact, Term
from bot.records.book import Book
from bot.records.changes import Answer, Change, Opened, Recorded
from bot.records.people import Member


def circle_of(book: Book) -> Circle:
    """The group's circle; an empty one where nothing was ever told of it."""
    found = book.open(circles.SUBJECT, circles.fold)
    return found[0] if found else circles.fold(_new(book, circles.SUBJECT), ())


def on_circle(book: Book, entry: str, data: Mapping[str, object], *, aside: bool = False) -> Change:
    """One more entry on the circle, or its first."""
    found = book.open(circles.SUBJECT, circles.fold)
    return _written(book, circles.SUBJECT, found[0].id if found else "", entry, data, aside=aside)


def rota_of(book: Book) -> Rota:
    """The group's stir rota as of today; one without anybody where none was made."""
    found = book.open(rotas.SUBJECT, rotas.fold)
    if not found:
        return rotas.fold(_new(book, rotas.SUBJECT), ())
    return _among_us(book, rotas.ahead(found[0], book.today))


def rota_after(book: Book, entries: Iterable[tuple[str, Mapping[str, object]]]) -> Rota:
    """The rota as it stands with more entries."""
    found = book.open(rotas.SUBJECT, rotas.fold)
    head, told = book.told(found[0].id) if found else (_new(book, rotas.SUBJECT), [])
    more = [Entry(kind, book.said_at, data, book.member.id) for kind, data in entries]
    return _among_us(book, rotas.ahead(rotas.fold(head, [*told, *more]), book.today))


def _among_us(book: Book, rota: Rota) -> Rota:
    members = [each.id for each in book.members()]
    return rotas.among(rota, members, [each.id for each in book.members("keeper")])


def on_rota(book: Book, entry: str, data: Mapping[str, object], *, aside: bool = False) -> Change:
    """One more entry on the rota, or its first."""
    found = book.open(rotas.SUBJECT, rotas.fold)
    return _written(book, rotas.SUBJECT, found[0].id if found else "", entry, data, aside=aside)


def everyones(book: Book) -> tuple[Rounds, ...]:
    """Everybody's open plans of rounds as they stand today."""
    return tuple(each.ahead(book.today) for each in book.open(rounds.SUBJECT, rounds.fold))


def shut_days(circle: Circle, today: date) -> dict[str, object]:
    """What a new plan of rounds takes over from the circle: keys of its entry."""
    told: dict[str, object] = {}
    spans = [*(shut.span for shut in circle.shut), *circle.rests]
    ahead = [
        [span.first_on.isoformat(), span.last_on.isoformat()]
        for span in spans
        if span.last_on >= today
    ]
    if circle.shut_weekdays:
        told["shut_weekdays"] = sorted(circle.shut_weekdays)
    if ahead:
        told["shut_spans"] = ahead
    if circle.held_since is not None:
        told["held"] = True
    return told


@dataclass(frozen=True, slots=True)
class NobodyCalled(Fact):
    """Nobody of that name is in the group; who is."""

    words: ClassVar[str] = "rota.nobody-called"
    name: str
    members: tuple[Any, ...]


def named(name: str, book: Book) -> Member | Answer:
    """The member of the group who is called that; or what to say where nobody is."""
    members = book.members()
    folded = "".join(name.casefold().split())
    for each in members:
        if each.name and "".join(each.name.casefold().split()) == folded:
            return each
    return Answer((NobodyCalled(name, tuple(called(each) for each in members)),))


def shaken(book: Book, why: str, code: str) -> tuple[Change, ...]:
    """What makes the supply plan of before worthless is kept, where a supply is planned."""
    if not circle_of(book).planned:
        return ()
    found = book.open(circles.SUBJECT, circles.fold)
    data = {"why": why, "code": code}
    return (Recorded(found[0].id, "shaken", book.said_at, data, aside=True),)


def called(member: Member | None) -> str | Term:
    """What a member is called where others read it."""
    return (member.name if member else "") or Term("word", "a_member")


def called_here(member: Member | None, book: Book) -> str | Term:
    """What a member is called where this reader reads it: "you" to a reader without a name."""
    if member is not None and member.id == book.member.id and not member.name:
        return Term("word", "you")
    return called(member)


def _new(book: Book, kind: str) -> Head:
    return Head("", kind, "", book.group.id, book.said_at, book.member.zone)


def _written(
    book: Book,
    kind: str,
    subject_id: str,
    entry: str,
    data: Mapping[str, object],
    *,
    aside: bool = False,
) -> Change:
    if subject_id:
        return Recorded(subject_id, entry, book.said_at, data, aside=aside)
    return Opened(kind, entry, book.said_at, data, lasting=True, aside=aside)
