"""What the group has to spray with: hands, sprayers, water, cans, and culture to spare."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from bot.craft.units import Quantity, settled
from bot.facts import Count, Fact, Question, Request
from bot.records.book import Answer, Book
from bot.records.people import Member
from bot.records.permission import refused
from bot.records.together import called, circle_of, named, on_circle

KIND = "equipment"
MOST_TANKS = 200
MOST_ML = 100_000_000
MOST_PERCENT = 100


@dataclass(frozen=True, slots=True)
class SprayerDoes(Fact):
    """Whose sprayer does so many tanks a day."""

    words: ClassVar[str] = "equipment.sprayer"
    who: Any
    tanks: Count


@dataclass(frozen=True, slots=True)
class HandDoes(Fact):
    """Who sprays so many tanks a day at most."""

    words: ClassVar[str] = "equipment.hand"
    who: Any
    tanks: Count


@dataclass(frozen=True, slots=True)
class YourSprayerDoes(Fact):
    """The reader's own sprayer does so many tanks a day."""

    words: ClassVar[str] = "equipment.your-sprayer"
    tanks: Count


@dataclass(frozen=True, slots=True)
class YouSpray(Fact):
    """The reader sprays so many tanks a day at most."""

    words: ClassVar[str] = "equipment.you-spray"
    tanks: Count


@dataclass(frozen=True, slots=True)
class WellGives(Fact):
    """The litres of water there are in a day, for rounds and barrels together."""

    words: ClassVar[str] = "equipment.well"
    amount: Quantity


@dataclass(frozen=True, slots=True)
class CansHold(Fact):
    """The litres of ready culture there is room for outside the barrels."""

    words: ClassVar[str] = "equipment.cans"
    amount: Quantity


@dataclass(frozen=True, slots=True)
class Spare(Fact):
    """The share of culture planned beyond what is wanted."""

    words: ClassVar[str] = "equipment.spare"
    percent: Decimal


@dataclass(frozen=True, slots=True)
class HowManyTanks(Fact):
    """Asks how many tanks a day."""

    words: ClassVar[str] = "equipment.how-many-tanks"


@dataclass(frozen=True, slots=True)
class HowManyLitres(Fact):
    """Asks how many litres."""

    words: ClassVar[str] = "equipment.how-many-litres"


@dataclass(frozen=True, slots=True)
class CannotBe(Fact):
    """An amount that cannot be."""

    words: ClassVar[str] = "equipment.cannot-be"


def answer(request: Request, book: Book) -> Answer:
    """Keep it, and say it back; without a word show what is known."""
    slots = request.slots
    action = request.term("action") or "show"
    if action == "show":
        return _shown(book)
    who = named(str(slots["member"]), book) if "member" in slots else book.member
    if isinstance(who, Answer):
        return who
    own = action in {"sprayer", "hand"} and who.id == book.member.id
    return refused(book, "equipment", own=own) or _ACTIONS[action](request, book, who)


def _sprayer_said(who: Member | None, tanks: int, book: Book) -> Fact:
    count = Count(Decimal(tanks), "tank")
    own = who is not None and who.id == book.member.id
    return YourSprayerDoes(count) if own else SprayerDoes(called(who), count)


def _hand_said(who: Member | None, tanks: int, book: Book) -> Fact:
    count = Count(Decimal(tanks), "tank")
    own = who is not None and who.id == book.member.id
    return YouSpray(count) if own else HandDoes(called(who), count)


def _tanks(request: Request) -> int | Answer:
    if "tanks" not in request.slots:
        return Answer(question=Question(HowManyTanks(), request, "tanks"))
    tanks = int(request.slots["tanks"].n)
    return tanks if 0 <= tanks <= MOST_TANKS else Answer((CannotBe(),))


def _sprayer(request: Request, book: Book, who: Member) -> Answer:
    tanks = _tanks(request)
    if isinstance(tanks, Answer):
        return tanks
    # One sprayer a member: it goes by its owner.
    data = {"sprayer_id": who.id, "owner_id": who.id, "tanks_a_day": tanks}
    fact = _sprayer_said(who, tanks, book)
    return Answer((fact,), (on_circle(book, "sprayer", data),))


def _hand(request: Request, book: Book, who: Member) -> Answer:
    tanks = _tanks(request)
    if isinstance(tanks, Answer):
        return tanks
    fact = _hand_said(who, tanks, book)
    return Answer((fact,), (on_circle(book, "hand", {"who": who.id, "tanks_a_day": tanks}),))


def _litres(request: Request, book: Book, entry: str, key: str, kind: Any) -> Answer:
    if "amount" not in request.slots:
        return Answer(question=Question(HowManyLitres(), request, "amount"))
    ml = int(settled(request.slots["amount"]).to("millilitre").value)
    if not 0 < ml <= MOST_ML:
        return Answer((CannotBe(),))
    fact = kind(Quantity(Decimal(ml), "millilitre"))
    return Answer((fact,), (on_circle(book, entry, {key: ml}),))


def _well(request: Request, book: Book, _who: Member) -> Answer:
    return _litres(request, book, "well", "ml_a_day", WellGives)


def _cans(request: Request, book: Book, _who: Member) -> Answer:
    return _litres(request, book, "cans", "ml", CansHold)


def _spare(request: Request, book: Book, _who: Member) -> Answer:
    percent = int(request.slots["percent"].value)
    if not 0 <= percent <= MOST_PERCENT:
        return Answer((CannotBe(),))
    return Answer((Spare(Decimal(percent)),), (on_circle(book, "spare", {"percent": percent}),))


_ACTIONS = {"sprayer": _sprayer, "hand": _hand, "well": _well, "cans": _cans, "spare": _spare}


def _shown(book: Book) -> Answer:
    circle = circle_of(book)
    people: Mapping[str, Member] = {each.id: each for each in book.members()}
    facts: list[Fact] = [
        _sprayer_said(people.get(each.owner_id), each.tanks_a_day, book)
        for each in circle.sprayers.values()
    ]
    facts += [_hand_said(people.get(who), tanks, book) for who, tanks in circle.hands.items()]
    if circle.well_ml_a_day:
        facts.append(WellGives(Quantity(Decimal(circle.well_ml_a_day), "millilitre")))
    if circle.cans_ml:
        facts.append(CansHold(Quantity(Decimal(circle.cans_ml), "millilitre")))
    return Answer((*facts, Spare(Decimal(circle.spare_percent))))
