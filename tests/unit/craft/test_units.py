"""Units: one size each, or a question; never a guess."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.craft.land import MEANINGS
from bot.craft.units import (
    _MEASURES,
    _SAID,
    AmbiguousUnitError,
    Quantity,
    UnitError,
    factor,
    known,
    meanings,
    measures,
    settle,
    settled,
)

PLAIN = sorted(unit for unit, of in _MEASURES.items() if of != "temperature")


def test_every_unit_converts_to_every_other_of_its_kind_and_back() -> None:
    for unit in PLAIN:
        for other in PLAIN:
            if measures(unit) == measures(other):
                there_and_back = factor(unit, other) * factor(other, unit)
                assert abs(there_and_back - 1) < Decimal("1e-17"), (unit, other)


@given(
    value=st.decimals(0, 10**9, allow_nan=False, places=6),
    pair=st.sampled_from([(a, b) for a in PLAIN for b in PLAIN if measures(a) == measures(b)]),
)
def test_a_quantity_survives_the_way_there_and_back(value: Decimal, pair: tuple[str, str]) -> None:
    unit, other = pair
    back = Quantity(value, unit).to(other).to(unit).value
    assert abs(back - value) <= value * Decimal("1e-16")
    assert back >= 0


@given(st.decimals(-100, 200, allow_nan=False, places=3))
def test_a_temperature_survives_the_way_there_and_back(value: Decimal) -> None:
    there = Quantity(value, "degree_celsius").to("degree_fahrenheit")
    assert abs(there.to("degree_celsius").value - value) < Decimal("1e-20")


def test_a_temperature_in_its_own_unit_stays() -> None:
    assert Quantity(Decimal(30), "degree_celsius").to("degree_celsius").value == 30


def test_temperatures_have_no_factor() -> None:
    with pytest.raises(UnitError):
        factor("degree_celsius", "degree_fahrenheit")


@pytest.mark.parametrize(
    ("unit", "other"), [("litre", "kilogram"), ("metre", "acre"), ("litre", "degree_celsius")]
)
def test_what_measures_something_else_is_refused(unit: str, other: str) -> None:
    with pytest.raises(UnitError, match=f"{unit} is not measured in {other}"):
        Quantity(Decimal(1), unit).to(other)


@pytest.mark.parametrize("name", ["barleycorn", "3*litre", "ac", "", "C", "__class__", "ML"])
def test_what_pint_may_know_but_a_grower_does_not_say_is_no_unit(name: str) -> None:
    assert not known(name)
    with pytest.raises(UnitError, match="is not a unit"):
        measures(name)
    with pytest.raises(UnitError, match="is not a unit"):
        settle(name)


def test_an_ambiguous_name_is_never_a_canonical_one() -> None:
    for said, found in _SAID.items():
        if len({each.unit for each in found}) > 1:
            assert said not in _MEASURES, said


def test_one_canonical_unit_has_one_size() -> None:
    sizes: dict[str, Decimal] = {}
    for each in MEANINGS:
        assert sizes.setdefault(each.unit, each.size) == each.size
        assert each.places
        assert each.source


def test_an_ambiguous_unit_is_not_converted_before_its_place_is_known() -> None:
    with pytest.raises(AmbiguousUnitError) as caught:
        Quantity(Decimal(2), "bigha").to("hectare")
    assert caught.value.said == "bigha"
    assert len(caught.value.meanings) == 8


@pytest.mark.parametrize(
    ("said", "place", "unit"),
    [
        ("bigha", "NP", "bigha_nepal"),
        ("bigha", "IN-WB", "bigha_bengal"),
        ("bigha", "IN-GJ", "bigha_gantari"),
        ("katha", "IN-AS", "katha_assam"),
        ("katha", "NP", "katha_nepal"),
        ("gallon", "US", "us_gallon"),
        ("gallon", "KE", "imperial_gallon"),
        ("gallon", "IN-UP", "imperial_gallon"),
        ("cup", "US", "us_cup"),
        ("cup", "", "metric_cup"),
        ("tablespoon", "AU", "australian_tablespoon"),
        ("teaspoon", "ET", "metric_teaspoon"),
        ("quintal", "GT", "quintal_castilian"),
        ("quintal", "IN", "quintal_metric"),
        ("decimal", "BD", "cent"),
        ("timad", "", "timad"),
        ("acre", "NP", "acre"),
    ],
)
def test_the_place_settles_what_a_name_means(said: str, place: str, unit: str) -> None:
    assert settle(said, place) == unit


@pytest.mark.parametrize(
    ("said", "place", "left"),
    [
        ("bigha", "IN-UP", {"bigha_pucca", "bigha_kachha"}),
        ("bigha", "BD", {"bigha_bengal", "bigha_bangladesh"}),
        ("katha", "IN", {"katha_bengal", "katha_assam", "katha_bihar"}),
        ("gallon", "NG", {"us_gallon", "imperial_gallon"}),
        ("gallon", "", {"us_gallon", "imperial_gallon"}),
        ("cuerda", "GT", {"cuerda_40_vara", "cuerda_25_vara"}),
    ],
)
def test_what_the_place_leaves_open_is_offered(said: str, place: str, left: set[str]) -> None:
    with pytest.raises(AmbiguousUnitError) as caught:
        settle(said, place)
    assert {each.unit for each in caught.value.meanings} == left


def test_what_the_group_chose_goes_before_the_place() -> None:
    chosen = {"bigha": "bigha_kachha"}
    assert settle("bigha", "NP", chosen) == "bigha_kachha"
    assert settle("katha", "NP", chosen) == "katha_nepal"
    assert settled(Quantity(Decimal(2), "bigha"), "NP", chosen).unit == "bigha_kachha"


def test_a_name_with_one_meaning_has_no_others() -> None:
    assert meanings("litre") == ()
    assert measures("bigha") == "area"
    assert known("bigha")
    assert known("litre")
