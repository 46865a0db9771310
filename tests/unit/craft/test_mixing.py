"""Mixing: what is poured adds up, to the millilitre, whatever was asked."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.craft.mixing import (
    LARGEST_ML,
    AmountError,
    Fill,
    Mix,
    Rounding,
    Strength,
    handy,
    handy_up,
    mix_for,
    mix_from_culture,
    mix_of,
    mix_of_tanks,
    ml_in,
    ml_to,
    one_in,
    parts,
    percent,
    reach,
    to_step,
    to_the_ml,
    water_parts_from,
)

strengths = st.builds(
    Strength,
    st.decimals(1, 20, places=1, allow_nan=False),
    st.decimals(0, 2000, places=1, allow_nan=False),
)
volumes = st.integers(1, 2_000_000)
tanks = st.one_of(st.none(), st.integers(1_000, 30_000))


def test_the_projects_own_example_per_tank_and_in_all() -> None:
    mix = mix_of_tanks(3, 16_000, parts(1, 3))
    assert mix.fills == (Fill(3, 4_000, 12_000),)
    assert (mix.culture_ml, mix.water_ml, mix.mix_ml, mix.tanks) == (12_000, 36_000, 48_000, 3)
    assert mix.fills[0].mix_ml == 16_000
    assert mix.error_percent == 0
    assert not mix.error_told


def test_a_last_tank_is_part_filled() -> None:
    mix = mix_of_tanks(Decimal("2.5"), 16_000, parts(1, 3))
    assert mix.fills == (Fill(2, 4_000, 12_000), Fill(1, 2_000, 6_000))


def test_less_than_one_tank_is_one_part_filled() -> None:
    assert mix_of(8_000, parts(1, 3), 16_000).fills == (Fill(1, 2_000, 6_000),)


def test_without_a_tank_it_is_one_vessel() -> None:
    assert mix_of(20_000, parts(1, 5)).fills == (Fill(1, 3_300, 16_700),)


def test_forty_litres_in_hand_make_a_hundred_and_sixty_of_leaf_spray() -> None:
    mix = mix_from_culture(40_000, parts(1, 3))
    assert (mix.culture_ml, mix.water_ml, mix.mix_ml) == (40_000, 120_000, 160_000)


def test_culture_in_hand_fills_whole_tanks_then_the_rest() -> None:
    mix = mix_from_culture(10_000, parts(1, 3), 16_000)
    assert mix.fills == (Fill(2, 4_000, 12_000), Fill(1, 2_000, 6_000))
    assert mix.left_ml == 0


def test_a_rest_too_small_for_a_tank_stays_in_the_barrel() -> None:
    mix = mix_from_culture(40_010, parts(1, 3), 16_000)
    assert mix.fills == (Fill(10, 4_000, 12_000),)
    assert mix.left_ml == 10


def test_culture_for_less_than_one_tank_is_all_used() -> None:
    assert mix_from_culture(20, parts(1, 3), 16_000).fills == (Fill(1, 20, 60),)


def test_undiluted_culture_gets_no_water() -> None:
    assert mix_of(10_000, parts(1, 0), 16_000).fills == (Fill(1, 10_000, 0),)
    assert mix_from_culture(10_000, parts(1, 0)).fills == (Fill(1, 10_000, 0),)


def test_three_hundred_plants_at_a_quarter_litre() -> None:
    mix = mix_for(Fraction(300), Fraction(250), parts(1, 2))
    assert (mix.culture_ml, mix.water_ml) == (25_000, 50_000)


def test_a_mix_for_an_area_is_rounded_up_so_that_it_reaches() -> None:
    half_acre_m2 = Fraction("2023.4282112")
    mix = mix_for(half_acre_m2, Fraction(20), parts(1, 3), 16_000)
    assert mix.mix_ml == 41_000
    assert reach(mix.mix_ml, Fraction(20)) >= half_acre_m2


def test_an_error_over_two_percent_is_told() -> None:
    in_cups = mix_of(1_000, parts(1, 3), rounding=to_step(180))
    assert in_cups.fills == (Fill(1, 180, 820),)
    assert in_cups.error_percent == -28
    assert in_cups.error_told


def test_a_measure_larger_than_the_vessel_never_overfills_it() -> None:
    assert mix_of(100, parts(1, 3), rounding=to_step(180)).fills == (Fill(1, 100, 0),)


def test_no_fill_has_no_error() -> None:
    assert Mix(parts(1, 3), ()).error_percent == 0


def test_strengths_said_in_other_ways() -> None:
    assert one_in(4) == parts(1, 3)
    assert percent(Decimal("2.5")).share == Fraction(1, 40)
    assert ml_in(30, 15_000).share == Fraction(1, 500)
    assert ml_to(30, 1_000).share == Fraction(3, 103)
    assert parts(1, 0).percent == 100
    assert water_parts_from(Decimal(5), Decimal("0.1")) == 49


def test_rounding_to_marks() -> None:
    assert [handy(Fraction(ml)) for ml in (1, 3, 47, 333, 1_000, 4_040, 12_345, 123_456)] == [
        1,
        3,
        47,
        330,
        1_000,
        4_000,
        12_300,
        123_000,
    ]
    assert handy(Fraction(1, 10)) == 1
    assert handy(Fraction(7, 5)) == 1
    assert handy_up(Fraction(7, 5)) == 2
    assert to_the_ml(Fraction(1, 10)) == 1
    assert to_the_ml(Fraction(5, 2)) == 3


@pytest.mark.parametrize(
    ("ask", "field", "reason"),
    [
        (lambda: mix_of(0, parts(1, 3)), "mix_ml", "zero"),
        (lambda: mix_of(-5, parts(1, 3)), "mix_ml", "negative"),
        (lambda: mix_of(LARGEST_ML + 1, parts(1, 3)), "mix_ml", "too_large"),
        (lambda: mix_of(10_000, parts(1, 3), 0), "tank_ml", "zero"),
        (lambda: mix_of(LARGEST_ML, parts(1, 3), 1), "tanks", "too_many"),
        (lambda: mix_of_tanks(0, 16_000, parts(1, 3)), "tanks", "zero"),
        (lambda: mix_of_tanks(10_001, 16_000, parts(1, 3)), "tanks", "too_many"),
        (lambda: mix_of_tanks(Decimal("NaN"), 16_000, parts(1, 3)), "tanks", "too_large"),
        (lambda: mix_from_culture(0, parts(1, 3)), "culture_ml", "zero"),
        (lambda: mix_from_culture(LARGEST_ML, parts(1, 3), 16), "tanks", "too_many"),
        (lambda: mix_from_culture(LARGEST_ML, parts(1, 3)), "mix_ml", "too_large"),
        (lambda: mix_for(Fraction(0), Fraction(1), parts(1, 3)), "amount", "zero"),
        (lambda: mix_for(Fraction(-1), Fraction(1), parts(1, 3)), "amount", "negative"),
        (lambda: mix_for(Fraction(1), Fraction(0), parts(1, 3)), "ml_each", "zero"),
        (lambda: mix_for(Fraction(10**6), Fraction(10**6), parts(1, 3)), "mix_ml", "too_large"),
        (lambda: reach(0, Fraction(1)), "mix_ml", "zero"),
        (lambda: parts(0, 3), "culture_parts", "zero"),
        (lambda: parts(1, -1), "water_parts", "negative"),
        (lambda: parts(1, Decimal("Infinity")), "water_parts", "negative"),
        (lambda: parts(1, 10**7), "water_parts", "too_large"),
        (lambda: percent(0), "culture_parts", "zero"),
        (lambda: percent(101), "water_parts", "negative"),
        (lambda: parts(10, 3 * 10**7), "water_parts", "too_large"),
        (lambda: one_in(0), "water_parts", "negative"),
        (lambda: to_step(0), "step_ml", "zero"),
        (lambda: water_parts_from(Decimal(1), Decimal(2)), "wanted_percent", "too_large"),
        (lambda: water_parts_from(Decimal(1), Decimal(0)), "wanted_percent", "zero"),
    ],
)
def test_amounts_that_cannot_be_are_named(ask: object, field: str, reason: str) -> None:
    assert callable(ask)
    with pytest.raises(AmountError) as caught:
        ask()
    assert (caught.value.field, caught.value.reason) == (field, reason)


@given(mix_ml=volumes, strength=strengths, tank_ml=tanks)
def test_culture_and_water_are_the_mix_to_the_millilitre(
    mix_ml: int, strength: Strength, tank_ml: int | None
) -> None:
    mix = mix_of(mix_ml, strength, tank_ml)
    assert mix.culture_ml + mix.water_ml == mix.mix_ml == mix_ml
    for fill in mix.fills:
        assert fill.culture_ml > 0
        assert fill.water_ml >= 0
        assert tank_ml is None or fill.mix_ml <= tank_ml
        exact = fill.mix_ml * strength.share
        assert abs(fill.culture_ml - exact) <= max(exact / 100, Fraction(1))


@given(culture_ml=st.integers(1, 5_000), strength=strengths, tank_ml=tanks)
def test_no_more_culture_is_poured_than_is_there(
    culture_ml: int, strength: Strength, tank_ml: int | None
) -> None:
    mix = mix_from_culture(culture_ml, strength, tank_ml)
    assert mix.culture_ml + mix.left_ml == culture_ml
    assert mix.culture_ml > 0
    assert all(fill.water_ml >= 0 for fill in mix.fills)


@given(small=volumes, more=volumes, strength=strengths, tank_ml=tanks)
def test_more_mix_never_needs_less_culture(
    small: int, more: int, strength: Strength, tank_ml: int | None
) -> None:
    less = mix_of(small, strength, tank_ml)
    assert mix_of(small + more, strength, tank_ml).culture_ml >= less.culture_ml


@given(st.fractions(0, 10**7), st.fractions(0, 10**7))
def test_rounding_never_turns_a_larger_amount_into_a_smaller(
    one: Fraction, other: Fraction
) -> None:
    low, high = (one, other) if one <= other else (other, one)
    roundings: tuple[Rounding, ...] = (handy, handy_up, to_the_ml, to_step(7))
    for rounding in roundings:
        assert rounding(low) <= rounding(high)
    assert handy_up(high) >= high


@given(culture_ml=st.integers(1_000, 500_000), water_parts=st.integers(1, 100))
def test_the_mix_made_from_some_culture_asks_for_that_culture_again(
    culture_ml: int, water_parts: int
) -> None:
    strength = parts(1, water_parts)
    exact = mix_from_culture(culture_ml, strength)
    again = mix_of(exact.mix_ml, strength, rounding=to_the_ml)
    assert abs(again.culture_ml - culture_ml) <= culture_ml / 100 + 1


@given(amount=st.fractions(1, 10_000), each=st.fractions(1, 1_000))
def test_what_is_mixed_for_an_area_reaches_over_it(amount: Fraction, each: Fraction) -> None:
    mix = mix_for(amount, each, parts(1, 3))
    assert amount <= reach(mix.mix_ml, each) <= amount * Fraction(102, 100) + 1 / each
