"""A share was kept back, and perhaps the barrel filled up again at once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, ClassVar

from bot.craft import batches, lineage, making
from bot.craft.batches import Batch
from bot.craft.entries import Entry
from bot.craft.mixing import AmountError
from bot.craft.units import Quantity, settled
from bot.extremes import extremes
from bot.facts import Fact, Question, Request, Term
from bot.records import meant
from bot.records.book import Answer, Book
from bot.records.changes import Recorded

KIND = "keep"


@dataclass(frozen=True, slots=True)
class KeptBack(Fact):
    """So much is kept in the barrel, and what to fill it up with."""

    words: ClassVar[str] = "keep.kept-back"
    barrel: str
    kept: Quantity
    liquid: Any
    amount: Quantity
    feed: Any


@dataclass(frozen=True, slots=True)
class Restarted(Fact):
    """The barrel began again from what was kept: water and feed for the water added."""

    words: ClassVar[str] = "keep.restarted"
    barrel: str
    on: date
    kept: Quantity
    liquid: Any
    amount: Quantity
    feed: Any


@dataclass(frozen=True, slots=True)
class LookAgain(Fact):
    """When the next batch should be looked at."""

    words: ClassVar[str] = "keep.look-again"
    first: date
    last: date
    likely: date


@dataclass(frozen=True, slots=True)
class RenewSoon(Fact):
    """The line is old: take a fresh starter for the next one, or already for this one."""

    words: ClassVar[str] = "keep.renew-soon"
    generation: int


@dataclass(frozen=True, slots=True)
class NotFromBad(Fact):
    """Nothing is kept of a spoilt batch; how to start clean."""

    words: ClassVar[str] = "keep.not-from-bad"
    barrel: str


@dataclass(frozen=True, slots=True)
class HowMuchKept(Fact):
    """Asks how much was kept, with the usual share."""

    words: ClassVar[str] = "keep.how-much"
    barrel: str
    usual: Quantity


@dataclass(frozen=True, slots=True)
class MoreThanHeld(Fact):
    """More was named than the barrel can hold back: nothing was recorded."""

    words: ClassVar[str] = "keep.more-than-held"
    barrel: str
    kept: Quantity
    size: Quantity


def answer(request: Request, book: Book) -> Answer:
    """Keep what was said; with a restart, the feed and water for it and the dates to come."""
    slots = request.slots
    known = [each for each in book.open(batches.SUBJECT, batches.fold) if each.state != "empty"]
    batch = meant.one_barrel(known, request, _likely(known))
    if isinstance(batch, Answer):
        return batch
    if not lineage.may_be_kept_back(batch):
        return Answer((NotFromBad(batch.code),))
    recipe = book.recipe_of(batch.recipe)
    usual_ml = batches.keep_back_ml(recipe, batch.size_ml)
    amount = slots.get("amount")
    kept_ml = (
        int(settled(amount).to("millilitre").value.to_integral_value())
        if amount is not None
        else batch.kept_ml
    )
    if not kept_ml:
        wanted = request.with_slots(which=(batch.code,))
        ask_kept = HowMuchKept(batch.code, _quantity(usual_ml))
        return Answer(question=Question(ask_kept, wanted, "amount"))
    try:
        filling = making.made(recipe, batch.size_ml, kept_ml)
    except AmountError:
        fact = MoreThanHeld(batch.code, _quantity(kept_ml), _quantity(batch.size_ml))
        return Answer((fact,))
    return _kept(batch, filling, request, book)


def _kept(batch: Batch, filling: making.Making, request: Request, book: Book) -> Answer:
    slots = request.slots
    on = min(slots.get("on", book.today), book.today)
    feed = _feed(filling)
    liquid, water = Term("ingredient", filling.liquid), _quantity(filling.liquid_ml)
    kept = _quantity(filling.kept_ml)
    recipe = book.recipe_of(batch.recipe)
    changes: list[Recorded] = [
        Recorded(
            batch.id,
            "keep",
            book.said_at,
            {"amount_ml": filling.kept_ml, "on": on.isoformat()},
        )
    ]
    facts: list[Fact] = []
    if slots.get("restart"):
        changes.append(
            Recorded(
                batch.id,
                "restart",
                book.said_at,
                {"kept_ml": filling.kept_ml, "size_ml": batch.size_ml, "on": on.isoformat()},
            )
        )
        facts.append(Restarted(batch.code, on, kept, liquid, water, feed))
        head, entries = book.told(batch.id)
        again = [Entry(each.entry, each.at, each.data) for each in changes]
        seen = book.outlook(batches.fold(head, [*entries, *again]))
        if seen is not None:
            facts += (LookAgain(seen.look_on, seen.until_on, seen.likely_on), *extremes([seen]))
    else:
        facts.append(KeptBack(batch.code, kept, liquid, water, feed))
    if lineage.renewal(batch, recipe) != "carry_on":
        facts.append(RenewSoon(batch.generation))
    return Answer(tuple(facts), tuple(changes))


def _likely(known: list[Batch]) -> list[Batch]:
    """The barrels kept of; else those that are ready; else all with culture."""
    for among in (
        [each for each in known if each.kept_ml and each.left_ml],
        [each for each in known if each.state == "ready"],
        [each for each in known if each.is_live],
    ):
        if among:
            return among
    return known


def _feed(filling: making.Making) -> Any:
    feed = filling.feed
    if feed is None or feed.high is None:
        return Term("ingredient", "nothing")
    return FeedOf(Quantity(Decimal(feed.high), feed.unit), Term("ingredient", feed.name))


@dataclass(frozen=True, slots=True)
class FeedOf(Fact):
    """So much feed."""

    words: ClassVar[str] = "start.portion"
    amount: Quantity
    name: Term


def _quantity(ml: int) -> Quantity:
    return Quantity(Decimal(ml), "millilitre")
