"""Drench by plants."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.craft.amounts import AmountError
from bot.craft.drench import drench, ml_each_from, plants_on, plants_reached
from bot.craft.mixing import Fill, parts

D = Decimal


def test_three_hundred_plants_by_tank() -> None:
    mix = drench(300, D(250), parts(1, 2), 16_000)
    assert mix.fills == (Fill(4, 5_300, 10_700), Fill(1, 3_700, 7_300))
    assert mix.mix_ml == 75_000


def test_plants_follow_the_spacing() -> None:
    assert plants_on(D(100), D(1), D("0.5")) == 200
    assert plants_on(D("0.1"), D(1), D(1)) == 0


def test_litres_a_square_metre_are_shared_by_the_plants() -> None:
    assert ml_each_from(D(1), D("0.9"), D("0.6")) == 540


@pytest.mark.parametrize(
    ("ask", "field", "reason"),
    [
        (lambda: plants_on(D(0), D(1), D(1)), "area_m2", "zero"),
        (lambda: plants_on(D(1), D("0.001"), D(1)), "row_m", "too_small"),
        (lambda: plants_on(D(1), D(1), D("Infinity")), "plant_m", "too_large"),
        (lambda: drench(0, D(250), parts(1, 2)), "amount", "zero"),
        (lambda: plants_reached(-1, D(1)), "mix_ml", "negative"),
        (lambda: plants_reached(1, D(0)), "ml_each", "zero"),
    ],
)
def test_what_cannot_be_planted_is_named(ask: object, field: str, reason: str) -> None:
    assert callable(ask)
    with pytest.raises(AmountError) as caught:
        ask()
    assert (caught.value.field, caught.value.reason) == (field, reason)


@given(st.integers(1, 10_000), st.integers(10, 2_000))
def test_what_is_mixed_reaches_every_plant(plants: int, ml_each: int) -> None:
    mix = drench(plants, D(ml_each), parts(1, 2))
    assert plants_reached(mix.mix_ml, D(ml_each)) >= plants
