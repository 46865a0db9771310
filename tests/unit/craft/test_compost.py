"""Compost: moisture and C:N by dry matter, what to add, and what decides."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.craft.amounts import AmountError
from bot.craft.compost import (
    FEEDSTOCKS,
    Material,
    add_for_cn,
    add_for_moisture,
    carbon_from_ash,
    cn,
    material,
    moisture,
    together,
    verdict,
    water_for,
)

D = Decimal
STRAW, DUNG = material("wheat_straw", D(10)), material("cow_manure", D(10))
NAMES = st.sampled_from(sorted(FEEDSTOCKS))
KILOGRAMS = st.decimals(min_value="0.1", max_value="1000", places=1)


def test_what_is_wetter_cannot_make_a_wet_mix_drier() -> None:
    assert add_for_moisture(DUNG, DUNG, D(60)) is None
    assert add_for_moisture(DUNG, Material(D(1), D(1), D(30), D(60)), D(60)) is None


def test_straw_brings_dung_to_its_goal() -> None:
    kg = add_for_moisture(DUNG, STRAW, D(60))
    assert kg is not None
    assert round(moisture([DUNG, material("wheat_straw", kg)]), 6) == 60


def test_more_of_the_richer_cannot_raise_the_ratio() -> None:
    assert add_for_cn(DUNG, material("poultry_manure", D(1)), D(30)) is None
    assert add_for_cn(DUNG, Material(D(1), D(1), D(30), D(10)), D(30)) is None


@pytest.mark.parametrize(
    ("mix", "said"),
    [
        ([material("cow_manure", D(10))], "too_wet"),
        ([material("wheat_straw", D(10))], "too_dry"),
        ([Material(D(1), D(3), D(30), D(55))], "too_green"),
        ([Material(D(1), D("0.5"), D(40), D(55))], "too_brown"),
        ([Material(D(1), D(1), D(30), D(55))], "good"),
    ],
)
def test_water_decides_before_the_ratio(mix: list[Material], said: str) -> None:
    assert verdict(mix) == said


def test_a_wet_mix_needs_no_water() -> None:
    assert water_for([DUNG]) == 0


def test_ash_is_a_share() -> None:
    with pytest.raises(AmountError):
        carbon_from_ash(D(101))
    with pytest.raises(AmountError):
        carbon_from_ash(D(-1))


def test_an_unknown_material_has_no_figures_and_nothing_weighs_nothing() -> None:
    with pytest.raises(KeyError):
        material("feathers", D(1))
    with pytest.raises(AmountError):
        material("hay", D(0))


@given(NAMES)
def test_the_typical_ratio_lies_within_the_range(name: str) -> None:
    low, usual, high = (
        cn([material(name, D(1), which=which)]) for which in ("low", "typical", "high")
    )
    assert low <= usual <= high


@given(NAMES, NAMES, KILOGRAMS, KILOGRAMS)
def test_a_mix_lies_between_its_parts_and_is_one_material(
    one: str, other: str, kg: Decimal, more: Decimal
) -> None:
    mix = [material(one, kg), material(other, more)]
    room = D("1e-9")
    for measure in (moisture, cn):
        ends = sorted([measure([mix[0]]), measure([mix[1]])])
        assert ends[0] - room <= measure(mix) <= ends[1] + room
        assert abs(measure([together(mix)]) - measure(mix)) < D("1e-6")


@given(NAMES, NAMES, KILOGRAMS, st.integers(20, 60))
def test_what_is_added_brings_the_goal(one: str, other: str, kg: Decimal, goal: int) -> None:
    first = material(one, kg)
    for find, measure in ((add_for_moisture, moisture), (add_for_cn, cn)):
        more = find(first, material(other, D(1)), D(goal))
        if more:
            assert abs(measure([first, material(other, more)]) - goal) < D("1e-6")
