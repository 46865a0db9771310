"""Culture was drawn off."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar

from bot.craft import batches, lineage
from bot.craft.units import Quantity, settled
from bot.facts import Fact, Question, Request, Term
from bot.records import meant
from bot.records.book import Answer, Book
from bot.records.changes import Recorded

KIND = "draw"


@dataclass(frozen=True, slots=True)
class Drawn(Fact):
    """What was taken from which barrel, and what it still holds."""

    words: ClassVar[str] = "draw.drawn"
    barrel: str
    amount: Quantity
    left: Quantity


@dataclass(frozen=True, slots=True)
class KeepOfIt(Fact):
    """How much of what is left starts the next one."""

    words: ClassVar[str] = "draw.keep-of-it"
    barrel: str
    keep: Quantity


@dataclass(frozen=True, slots=True)
class MoreThanLeft(Fact):
    """More was named than the barrel holds: nothing was recorded."""

    words: ClassVar[str] = "draw.more-than-left"
    barrel: str
    amount: Quantity
    left: Quantity


@dataclass(frozen=True, slots=True)
class HowMuchDrawn(Fact):
    """Asks how many litres were taken."""

    words: ClassVar[str] = "draw.how-much"
    barrel: str


@dataclass(frozen=True, slots=True)
class NotReadyYet(Fact):
    """It was drawn before anybody called it ready; it is recorded all the same."""

    words: ClassVar[str] = "draw.not-ready-yet"
    barrel: str


def answer(request: Request, book: Book) -> Answer:
    """Keep what was drawn, and say what is left and what of it to keep."""
    slots = request.slots
    live = [each for each in book.open(batches.SUBJECT, batches.fold) if each.is_live]
    ready = [each for each in live if each.state == "ready" and each.left_ml]
    batch = meant.one_barrel(live, request, ready)
    if isinstance(batch, Answer):
        return batch
    if "amount" not in slots:
        wanted = request.with_slots(which=(batch.code,))
        return Answer(question=Question(HowMuchDrawn(batch.code), wanted, "amount"))
    amount_ml = int(settled(slots["amount"]).to("millilitre").value.to_integral_value())
    if amount_ml > batch.left_ml:
        fact = MoreThanLeft(batch.code, _quantity(amount_ml), _quantity(batch.left_ml))
        wanted = Request(KIND, {**slots, "which": (batch.code,)})
        return Answer(question=Question(fact, wanted, "amount"))
    on = min(slots.get("on", book.today), book.today)
    use = slots.get("use")
    data = {
        "amount_ml": amount_ml,
        "on": on.isoformat(),
        "use": use.name if isinstance(use, Term) else "",
    }
    left_ml = batch.left_ml - amount_ml
    facts: list[Fact] = [Drawn(batch.code, _quantity(amount_ml), _quantity(left_ml))]
    recipe = book.recipe_of(batch.recipe)
    keep_ml = min(batches.keep_back_ml(recipe, batch.size_ml), left_ml)
    if keep_ml and lineage.may_be_kept_back(batch):
        facts.append(KeepOfIt(batch.code, _quantity(keep_ml)))
    if batch.state != "ready":
        facts.append(NotReadyYet(batch.code))
    return Answer(tuple(facts), (Recorded(batch.id, "draw", book.said_at, data),))


def _quantity(ml: int) -> Quantity:
    return Quantity(Decimal(ml), "millilitre")
