"""What no conversation reaches of the group's turns, tools and plan."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from decimal import Decimal
from typing import Any

import pytest

from bot.craft.batches import Batch
from bot.craft.entries import Entry, Head
from bot.craft.rota import Rota, fold
from bot.craft.units import Quantity
from bot.facts import Request, Tending, Term
from bot.recipes.reading import shipped
from bot.records.book import Book
from bot.records.people import Group, Member
from bot.reminders import replanned, sowing, stir, stir_passed
from bot.requests import equipment

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
KITO = Member("m", "", "en", "UTC", time(7), "", {}, "g", None, NOON)


class Desk(Book):
    """A book without a record behind it."""

    def open(self, kind: str, fold: Any) -> tuple[Any, ...]:
        """Nothing is open."""
        del kind, fold
        return ()

    def members(self, role: str = "") -> tuple[Member, ...]:
        """One member, who keeps the group."""
        del role
        return (KITO,)


def desk() -> Desk:
    nothing: Any = None
    return Desk(nothing, NOON, NOON, KITO, Group("g", "", {}), shipped())


def asked(action: str, **slots: Any) -> Request:
    return Request("equipment", {"action": Term("action", action), **slots})


@pytest.mark.parametrize(("action", "slot"), [("hand", "tanks"), ("well", "amount")])
def test_what_was_not_said_of_a_tool_is_asked_for(action: str, slot: str) -> None:
    answer = equipment.answer(asked(action), desk())
    assert answer.question is not None
    assert answer.question.slot == slot


@pytest.mark.parametrize("litres", ["0", "200000000"])
def test_water_that_cannot_be_is_refused(litres: str) -> None:
    amount = Quantity(Decimal(litres), "litre")
    assert equipment.answer(asked("well", amount=amount), desk()).facts == (equipment.CannotBe(),)


def test_nothing_due_is_nothing_said() -> None:
    assert replanned.facts((), desk()).facts == ()
    assert sowing.facts((), desk()).facts == ()


def rota() -> Rota:
    head = Head("t", "rota", "", "g", NOON)
    return fold(head, [Entry("joined", NOON, {"who": ["m", "gone"]}, "m")])


@pytest.mark.parametrize("recipe", ["nectar", "mother"])
def test_only_known_cultures_and_people_who_are_there_are_asked_to_stir(recipe: str) -> None:
    started = date(2026, 3, 2)
    batch = Batch("b", "B1", "g", "UTC", state="fermenting", recipe=recipe, started_on=started)
    outlook = {"rota": rota(), "people": {"m": KITO}, "keepers": ("m",)}
    tending = Tending("m", "UTC", time(7), NOON, {"recipes": shipped()}, outlook)
    for module in (stir, stir_passed):
        owners = {rule.member_id for rule in module.wanted(batch, tending)}
        assert owners == (set() if recipe == "nectar" else {"m"})
