"""What goes into a vessel of any size, what it costs, what must be bought."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.craft.making import Making, Portion, Price, cost, made, shopping
from bot.craft.mixing import LARGEST_ML, AmountError
from bot.recipes.reading import shipped

MOTHER = shipped()["mother"]
BREW = shipped()["brew"]


def test_a_fresh_barrel_of_two_hundred_litres() -> None:
    making = made(MOTHER, 200_000)
    assert making.portions == (
        Portion("unrefined_sugar", "feed", "gram", 2_000, 2_000),
        Portion("starter_pack", "starter", "pack", 1, 1),
    )
    assert (making.liquid, making.liquid_ml) == ("water", 200_000)


def test_a_kept_tenth_is_fed_for_the_water_added_and_needs_no_starter() -> None:
    making = made(MOTHER, 200_000, 20_000)
    assert making.portions == (Portion("unrefined_sugar", "feed", "gram", 1_800, 1_800),)
    assert making.liquid_ml == 180_000
    assert making.feed == making.portions[0]


def test_a_larger_barrel_needs_a_second_pack_and_a_smaller_still_one() -> None:
    assert made(MOTHER, 200_001).portions[1].low == 2
    assert made(MOTHER, 20_000).portions[1].low == 1


def test_twenty_five_litres_of_brew_stand_on_ready_culture() -> None:
    making = made(BREW, 25_000)
    assert (making.liquid, making.liquid_ml) == ("mother", 25_000)
    oilseed, pulse, *minerals = making.portions
    assert (oilseed.low, oilseed.kinds, pulse.low, pulse.kinds) == (100, 3, 100, 3)
    assert [each.low for each in minerals] == [None, None, None]
    assert making.feed is None


def test_urine_takes_the_place_of_water_and_parts_stay_parts() -> None:
    brew = made(shipped()["manure_brew"], 200_000)
    amounts = {each.name: (each.low, each.high) for each in brew.portions}
    assert amounts["fresh_cow_dung"] == (10_000, 11_000)
    assert amounts["unrefined_sugar"] == (1_000, 2_000)
    assert (brew.liquid, brew.liquid_ml) == ("water", 195_000)
    serum = made(shipped()["serum"], 5_000)
    assert (serum.liquid, serum.liquid_ml) == ("", 0)
    assert serum.portions[1] == Portion("milk", "feed", "part", 8, 10)


@pytest.mark.parametrize(
    ("size_ml", "kept_ml", "field", "reason"),
    [
        (0, 0, "size_ml", "zero"),
        (-1, 0, "size_ml", "negative"),
        (LARGEST_ML + 1, 0, "size_ml", "too_large"),
        (10, -1, "kept_ml", "negative"),
        (10, 10, "kept_ml", "too_large"),
    ],
)
def test_vessels_that_cannot_be_are_named(
    size_ml: int, kept_ml: int, field: str, reason: str
) -> None:
    with pytest.raises(AmountError) as caught:
        made(MOTHER, size_ml, kept_ml)
    assert (caught.value.field, caught.value.reason) == (field, reason)


@given(size_ml=st.integers(1_000, 10**6), kept=st.integers(0, 49))
def test_feed_follows_the_water_added_within_a_hundredth(size_ml: int, kept: int) -> None:
    kept_ml = size_ml * kept // 100
    making = made(MOTHER, size_ml, kept_ml)
    feed = making.feed
    assert feed is not None
    assert feed.low is not None
    assert making.liquid_ml + kept_ml == size_ml
    exact = Decimal(size_ml - kept_ml) / 100
    assert abs(feed.low - exact) <= max(exact / 100, Decimal("0.5"))


def test_a_litre_costs_what_its_sugar_and_pack_cost() -> None:
    prices = {
        "unrefined_sugar": Price(Decimal(60), Decimal(1000)),
        "starter_pack": Price(Decimal(80), Decimal(1)),
    }
    found = cost(made(MOTHER, 200_000), prices)
    assert found.low == found.high == 200
    assert found.unpriced == ()
    assert found.low_per_litre == found.high_per_litre == 1


def test_a_brew_costs_its_culture_too_and_names_what_has_no_price() -> None:
    prices = {
        "mother": Price(Decimal(1), Decimal(1000)),
        "oilseed_meal": Price(Decimal(100), Decimal(1000)),
        "pulse_meal": Price(Decimal(80), Decimal(0)),
    }
    found = cost(made(BREW, 25_000), prices)
    assert found.low == 25 + 30
    assert found.unpriced == ("pulse_meal", "iron_source", "copper_source", "zinc_source")


def test_a_shopping_list_adds_up_and_leaves_out_what_is_in_store() -> None:
    list_ = shopping(
        [made(MOTHER, 200_000), made(MOTHER, 100_000), made(BREW, 25_000), made(BREW, 25_000)],
        {"starter_pack": 2, "unrefined_sugar": 500, "oilseed_meal": 300},
    )
    assert {each.name: each.low for each in list_} == {
        "unrefined_sugar": 2_500,
        "oilseed_meal": 100,
        "pulse_meal": 200,
        "iron_source": None,
        "copper_source": None,
        "zinc_source": None,
        "mother": 50_000,
    }
    assert shopping([]) == []


def test_an_amount_and_none_together_are_the_amount() -> None:
    some = Making("x", 1, 0, "water", 1, (Portion("salt", "mineral", "gram", 5, 6),))
    none = Making("y", 1, 0, "water", 1, (Portion("salt", "mineral", "gram", None, None),))
    assert shopping([some, none])[0].low == 5
    assert shopping([none, some])[0].low == 5
