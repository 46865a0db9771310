"""What no conversation file reaches: amounts that cannot be, a group's own words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, time
from decimal import Decimal
from types import ModuleType
from typing import Any

import pytest

from bot import care
from bot.craft.cautions import Added
from bot.craft.entries import Entry
from bot.craft.units import Quantity
from bot.facts import Count, Request, Term
from bot.recipes.reading import shipped
from bot.records.book import Book
from bot.records.people import Group, Member
from bot.requests import (
    caution,
    convert,
    copper,
    cost,
    heap,
    measure,
    recipe,
    seed,
    shopping,
)

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
MOTHER = shipped()["mother"]


class Desk(Book):
    """A book without a record behind it."""

    def log(self, kinds: Sequence[str], since: datetime) -> list[Entry]:
        """Nothing was said yet."""
        del kinds, since
        return []

    def open(self, kind: str, fold: Any) -> tuple[Any, ...]:
        """Nothing is open."""
        del kind, fold
        return ()


def desk(**settings: Any) -> Desk:
    member = Member("m", "", "en", "UTC", time(7), "", {}, "g", None, NOON)
    nothing: Any = None
    return Desk(nothing, NOON, NOON, member, Group("g", "", settings), shipped())


def ml(value: str) -> Quantity:
    return Quantity(Decimal(value), "millilitre")


@pytest.mark.parametrize(
    ("module", "slots", "said"),
    [
        (convert, {}, convert.FromWhat),
        (cost, {"size": ml("0")}, cost.PriceCannotBe),
        (shopping, {"size": ml("0")}, shopping.SizeOut),
        (recipe, {"name": "nectar"}, recipe.NoSuchRecipe),
        (recipe, {"name": Term("recipe", "mother"), "size": ml("0")}, recipe.Made),
        (seed, {"weight": Quantity(Decimal(0), "kilogram")}, seed.SeedCannotBe),
        (heap, {"materials": (("hay", Count(Decimal(3), "bucket")),)}, heap.ByWeight),
        (measure, {"fills": ("cup", Decimal(0), ml("1"))}, measure.MeasureCannotBe),
        (measure, {"fills": ("cup", Decimal(1000), ml("1"))}, measure.MeasureCannotBe),
        (measure, {"name": Term("vessel", "cap"), "amount": ml("9.5")}, measure.HoldsNow),
        (
            copper,
            {
                "amount": Quantity(Decimal(0), "kilogram"),
                "area": Quantity(Decimal(1), "hectare"),
            },
            copper.CopperCannotBe,
        ),
    ],
    ids=lambda value: value.__name__ if isinstance(value, type | ModuleType) else "",
)
def test_what_cannot_be_is_said_in_one_sentence(
    module: Any, slots: dict[str, Any], said: type
) -> None:
    answer = module.answer(Request(module.KIND, slots), desk())
    assert isinstance(answer.facts[0], said)


def test_a_use_without_an_interval_is_said_without_one() -> None:
    use = replace(MOTHER.uses[1], every_days=None)
    one = replace(MOTHER, uses=(use,))
    book = replace(desk(), recipes={"mother": one})
    answer = recipe.answer(Request("recipe", {"name": Term("recipe", "mother")}), book)
    uses = next(each for each in answer.facts if isinstance(each, recipe.Uses))
    assert isinstance(uses.uses[0], recipe.Thinned)


def test_a_group_says_its_own_caution_in_its_own_words() -> None:
    book = desk(cautions={"bees": "Hives stand by the river."})
    answer = caution.answer(Request("caution"), book)
    assert care.Cautioned("Hives stand by the river.") in answer.facts


def test_a_group_s_own_caution_has_no_reason_beyond_its_words() -> None:
    noted = care.asked([Added("bees", "Hives stand by the river.")], desk())
    assert noted.data == {"keys": ""}


def test_where_no_caution_fits_none_is_said() -> None:
    assert care.caution("asking", desk(), MOTHER) == ((), ())


def test_the_first_round_is_tried_on_five_plants_and_the_next_say_another() -> None:
    first, second, third = (care.alert(desk(), MOTHER, "leaf", "maize", nth) for nth in range(3))
    assert first == (care.Cautioned(Term("caution", "five_plants_first")),)
    assert second != third
    assert all(len(each) == 1 for each in (first, second, third))
