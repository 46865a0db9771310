"""Copper logged from fungicides, and what the limit of seven years leaves."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar

from bot.craft import copper
from bot.craft.amounts import AmountError
from bot.craft.copper import LIMIT_KG_PER_HA, LIMIT_YEARS
from bot.craft.nutrients import share_of_metal
from bot.craft.units import Quantity, settled
from bot.facts import Fact, Question, Request, Term
from bot.records.book import Answer, Book
from bot.records.changes import Change, Opened, Recorded

KIND = "copper"

COPPER_SALTS = frozenset(
    ("copper_sulphate", "copper_oxychloride", "copper_hydroxide", "copper_oxide")
)


@dataclass(frozen=True, slots=True)
class CopperNoted(Fact):
    """How much copper a hectare was noted, reckoned as the metal itself."""

    words: ClassVar[str] = "copper.noted"
    amount: Quantity


@dataclass(frozen=True, slots=True)
class SulphateNoted(Fact):
    """How much copper a hectare was noted, reckoned from copper sulphate."""

    words: ClassVar[str] = "copper.noted-sulphate"
    amount: Quantity


@dataclass(frozen=True, slots=True)
class SaltNoted(Fact):
    """How much copper a hectare was noted, reckoned from a salt by its formula."""

    words: ClassVar[str] = "copper.noted-salt"
    amount: Quantity
    salt: Term
    percent: Decimal


@dataclass(frozen=True, slots=True)
class CopperSum(Fact):
    """The sum a hectare in the years of the limit, and the limit."""

    words: ClassVar[str] = "copper.sum"
    amount: Quantity
    limit: Quantity
    years: int


@dataclass(frozen=True, slots=True)
class OverLimit(Fact):
    """The limit is passed."""

    words: ClassVar[str] = "copper.over"


@dataclass(frozen=True, slots=True)
class BrewIsLittle(Fact):
    """A brew's own copper is milligrams; this counts fungicides."""

    words: ClassVar[str] = "copper.brew"


@dataclass(frozen=True, slots=True)
class OnWhatArea(Fact):
    """Asks on what area it was put."""

    words: ClassVar[str] = "copper.on-what-area"


@dataclass(frozen=True, slots=True)
class CopperCannotBe(Fact):
    """An amount of copper that cannot be."""

    words: ClassVar[str] = "copper.cannot-be"


def answer(request: Request, book: Book) -> Answer:
    """Note what was put on; say the sum of seven years against the limit."""
    slots = request.slots
    ledger = next(iter(book.open(copper.SUBJECT, copper.fold)), None)
    loads = ledger.loads if ledger else ()
    if "amount" not in slots:
        return Answer((*_sum(loads, book), BrewIsLittle()))
    if "area" not in slots:
        return Answer(question=Question(OnWhatArea(), request, "area"))
    said = slots.get("salt")
    salt = said.name if isinstance(said, Term) and said.name in COPPER_SALTS else ""
    kg = settled(slots["amount"]).to("kilogram").value
    area_m2 = settled(slots["area"]).to("square_metre").value
    try:
        load = copper.load(slots.get("on", book.today), kg, area_m2, salt)
    except AmountError:
        return Answer((CopperCannotBe(),))
    data = {"on": load.on.isoformat(), "kg_per_ha": str(round(load.kg_per_ha, 4))}
    change: Change = (
        Recorded(ledger.id, "copper", book.said_at, data)
        if ledger
        else Opened(copper.SUBJECT, "copper", book.said_at, data, code="copper")
    )
    noted = _noted(_kg(load.kg_per_ha), salt)
    return Answer((noted, *_sum((*loads, load), book)), (change,))


def _noted(amount: Quantity, salt: str) -> Fact:
    """The copper noted; a formula is the most a product of that salt can hold."""
    if not salt:
        return CopperNoted(amount)
    if salt == "copper_sulphate":
        return SulphateNoted(amount)
    percent = (share_of_metal(salt) * 100).quantize(Decimal(1))
    return SaltNoted(amount, Term("salt", salt), percent)


def _sum(loads: tuple[copper.Load, ...], book: Book) -> tuple[Fact, ...]:
    total = copper.over_years(loads, book.today)
    fact = CopperSum(_kg(total), Quantity(LIMIT_KG_PER_HA, "kilogram"), LIMIT_YEARS)
    return (fact, OverLimit()) if total > LIMIT_KG_PER_HA else (fact,)


def _kg(kg: Decimal) -> Quantity:
    return Quantity(round(kg, 3), "kilogram")
