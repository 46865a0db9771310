"""What a group may change of its recipes and cautions, at the edges a conversation seldom meets."""

from datetime import UTC, date, datetime
from decimal import Decimal
from types import SimpleNamespace
from typing import Any, cast

import pytest

from bot.craft.recipe import Recipe
from bot.craft.units import Quantity
from bot.facts import Count, Duration, Every, Per, Ratio, Request, Term
from bot.recipes.own import Tweak, tweaked
from bot.recipes.reading import as_plain, shipped
from bot.records.book import Book
from bot.requests import own_caution, own_recipe

BREW = Term("recipe", "brew")


def _book(settings: dict[str, Any] | None = None, *, keeper: bool = True) -> Book:
    me = SimpleNamespace(id="me")

    def recipe(named: object, otherwise: str) -> Recipe | None:
        return shipped().get(getattr(named, "name", otherwise))

    return cast(
        "Book",
        SimpleNamespace(
            member=me,
            group=SimpleNamespace(settings=settings or {}),
            members=lambda _role: (me,) if keeper else (),
            recipes=shipped(),
            recipe=recipe,
            today=date(2026, 3, 2),
            said_at=datetime(2026, 3, 2, 9, tzinfo=UTC),
        ),
    )


def _said(slots: dict[str, Any], book: Book | None = None) -> list[str]:
    answer = own_recipe.answer(Request("own_recipe", slots), book or _book())
    asked = [] if answer.question is None else [type(answer.question.ask).__name__]
    return [type(fact).__name__ for fact in answer.facts] + asked


def test_only_a_keeper_changes_recipes_and_adds_cautions() -> None:
    slots = {"name": BREW, "use": Term("use", "leaf"), "ratio": Ratio(Decimal(1), Decimal(12))}
    assert _said(slots, _book(keeper=False)) == ["KeepersOnly"]
    added = own_caution.answer(Request("own_caution", {"words": "gloves"}), _book(keeper=False))
    assert [type(fact).__name__ for fact in added.facts] == ["KeepersAdd"]


def test_a_recipe_that_is_not_named_is_asked_for() -> None:
    assert _said({"use": Term("use", "leaf")}) == ["WhichOne"]


def test_a_group_keeps_no_more_than_so_many_of_its_own() -> None:
    plain = as_plain(tweaked(shipped()["brew"], Tweak(), "fish"))
    own = {f"fish{n}": plain for n in range(own_recipe.MOST_OWN)}
    assert _said({"called": "Soup", "base": BREW}, _book({"recipes": own})) == ["NoName"]
    many = {f"own{n}": "gloves" for n in range(own_caution.MOST)}
    added = own_caution.answer(
        Request("own_caution", {"words": "goggles"}), _book({"cautions": many})
    )
    assert [type(fact).__name__ for fact in added.facts] == ["Enough"]


def test_a_base_that_cannot_be_kept_under_the_name_says_so() -> None:
    assert _said({"called": "Soup", "base": BREW}) == ["OneMore", "CautionsStay"]
    assert _said({"action": Term("action", "add")}) == ["NoName"]


@pytest.mark.parametrize(
    ("slots", "said"),
    [
        ({"ready": Duration(Decimal("1.3"), "day")}, ["CannotBe"]),
        ({"ready": datetime(2026, 3, 14, tzinfo=UTC)}, ["ReadyAfter", "CautionsStay"]),
        ({"ready": "soon"}, ["CannotBe"]),
        ({"ready": date(2026, 3, 2)}, ["CannotBe"]),
        ({"shelf": Duration(Decimal(2), "week")}, ["KeepsFor", "CautionsStay"]),
        ({"share": Decimal("0.2")}, ["KeptBack", "CautionsStay"]),
        (
            {"use": Term("use", "leaf"), "times": Count(Decimal(3), "times")},
            ["Times", "CautionsStay"],
        ),
        ({"use": Term("use", "leaf"), "every": Every(2, "week")}, ["Interval", "CautionsStay"]),
        (
            {"use": Term("use", "seed"), "ratio": Ratio(Decimal(2), Decimal(5))},
            ["Strength", "Cautioned"],
        ),
        (
            {
                "ingredient": Term("ingredient", "milk"),
                "per": Per(Quantity(Decimal(1), "acre"), Quantity(Decimal(1), "litre")),
            },
            ["CannotBe"],
        ),
        (
            {
                "thing": "brass",
                "per": Per(Quantity(Decimal(1), "gram"), Quantity(Decimal(1), "litre")),
            },
            ["NeverIn"],
        ),
        ({"thing": "milk", "per": Per(Quantity(Decimal(1), "gram"), Count(Decimal(1), "plant"))},
         ["NothingSaid"]),
    ],
)  # fmt: skip
def test_each_figure_is_taken_or_said_back(slots: dict[str, Any], said: list[str]) -> None:
    assert _said({"name": BREW, **slots}) == said
