"""A group's own recipes: changed by a message, kept in the record, cautions never lost."""

from decimal import Decimal

import pytest

from bot.craft.recipe import Recipe
from bot.recipes.own import OWN, Tweak, together, tweaked
from bot.recipes.reading import RecipeError, as_plain, recipe_of, shipped

MOTHER = shipped()["mother"]


@pytest.mark.parametrize("kind", sorted(shipped()))
def test_every_recipe_comes_back_from_the_record_as_it_was(kind: str) -> None:
    recipe = shipped()[kind]
    assert recipe_of(as_plain(recipe), "record") == recipe


def test_a_message_changes_a_strength_and_its_interval() -> None:
    own = tweaked(MOTHER, Tweak(use="leaf", water_parts=Decimal(5), every_days=7, times=6))
    leaf = own.use("leaf")
    assert leaf is not None
    assert (leaf.water_parts, leaf.every_days, leaf.times) == (Decimal(5), 7, 6)
    assert own.use("soil") == MOTHER.use("soil")
    assert own.sources[-1] == OWN
    assert leaf.notes == ("strain", "cool_hours")


def test_a_message_changes_feed_days_keep_back_and_shelf_life() -> None:
    own = tweaked(
        MOTHER,
        Tweak(
            feed_per_litre=Decimal(12),
            warm_days=4,
            cool_days=6,
            keep_back=Decimal("0.2"),
            shelf_days=40,
        ),
        "rain_culture",
    )
    assert own.kind == "rain_culture"
    assert own.ingredients[0].low == own.ingredients[0].high == 12
    assert (own.ready.warm_days, own.ready.cool_days) == (4, 6)
    assert own.keep_back == Decimal("0.2")
    assert (own.shelf_days, own.shelf_days_most) == (40, 40)
    assert own.hazards == MOTHER.hazards


def test_one_day_said_is_both_ends_and_a_later_cool_day_stands_alone() -> None:
    assert tweaked(MOTHER, Tweak(warm_days=9)).ready.cool_days == 9
    assert tweaked(MOTHER, Tweak(cool_days=9)).ready.warm_days == 5
    assert tweaked(MOTHER, Tweak()).ready == MOTHER.ready


def test_a_use_that_is_new_needs_its_strength() -> None:
    own = tweaked(MOTHER, Tweak(use="roots", water_parts=Decimal(4)))
    assert own.uses[-1].name == "roots"
    with pytest.raises(RecipeError, match="how many parts of water for roots"):
        tweaked(MOTHER, Tweak(use="roots", every_days=5))


@pytest.mark.parametrize(
    ("tweak", "field"),
    [
        (Tweak(use="leaf", water_parts=Decimal(-1)), "uses[2].water_parts"),
        (Tweak(use="leaf", every_days=0), "uses[2].every_days"),
        (Tweak(keep_back=Decimal(2)), "keep_back"),
        (Tweak(feed_per_litre=Decimal(0)), "ingredients[0].low"),
        (Tweak(warm_days=401), "ready.warm_days"),
    ],
)
def test_a_change_out_of_range_is_named(tweak: Tweak, field: str) -> None:
    with pytest.raises(RecipeError) as caught:
        tweaked(MOTHER, tweak)
    assert caught.value.field == field


def test_a_recipe_without_feed_per_litre_cannot_be_fed_more() -> None:
    with pytest.raises(RecipeError, match="has no feed counted per litre"):
        tweaked(shipped()["plant_juice"], Tweak(feed_per_litre=Decimal(5)))


def test_a_groups_own_recipe_keeps_every_caution_of_the_one_it_replaces() -> None:
    plain = as_plain(MOTHER) | {"hazards": ["sugar_fed_raw_eaten", "clean_water"]}
    found = together(shipped(), [plain])["mother"]
    assert set(MOTHER.hazards) < set(found.hazards)
    assert "clean_water" in found.hazards
    weakened = as_plain(MOTHER) | {"sugar_fed": False}
    assert together(shipped(), [weakened])["mother"].sugar_fed


def test_a_groups_new_recipe_stands_beside_the_shipped_ones() -> None:
    own = as_plain(tweaked(MOTHER, Tweak(use="leaf", water_parts=Decimal(6)), "rain_culture"))
    found = together(shipped(), [own])
    assert set(found) == {*shipped(), "rain_culture"}


def test_a_groups_recipe_on_nothing_is_named() -> None:
    own = as_plain(MOTHER) | {"kind": "odd", "on": "nowhere"}
    with pytest.raises(RecipeError, match="there is no recipe 'nowhere'"):
        together(shipped(), [own])


def manure(**changes: object) -> Recipe:
    return recipe_of(as_plain(shipped()["manure_brew"]) | changes, "x.toml")


def test_dung_makes_a_manure_recipe_whatever_it_says_and_its_caution_is_a_must() -> None:
    with pytest.raises(RecipeError, match="animal_manure: write true: fresh_cow_dung goes in"):
        manure(animal_manure=False, hazards=["sugar_fed_raw_eaten"])
    with pytest.raises(RecipeError, match="hazards: add 'manure_raw_eaten'"):
        manure(hazards=["eyes_skin"])
    with pytest.raises(RecipeError, match="hazards: add 'sugar_fed_raw_eaten'"):
        recipe_of(as_plain(MOTHER) | {"hazards": ["eyes_skin"]}, "x.toml")


def test_a_hazard_that_is_no_caution_is_named() -> None:
    with pytest.raises(RecipeError, match="'never_seel' is no caution; write 'never_seal'"):
        recipe_of(as_plain(MOTHER) | {"hazards": ["never_seel"]}, "x.toml")
    with pytest.raises(RecipeError, match="'xyzzy' is no caution; take it out"):
        recipe_of(as_plain(MOTHER) | {"hazards": ["xyzzy"]}, "x.toml")
