"""Seed: how much culture, how long in shade, and which seed splits."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.craft.amounts import AmountError
from bot.craft.seed import (
    PUBLISHED,
    SEED_RATES,
    out_of_shade_at,
    root_dip,
    seed_for,
    span,
    wetting,
)

D = Decimal


def test_ten_kilograms_to_coat() -> None:
    found = wetting(D(10), "coat", "bean")
    assert (found.low_ml, found.high_ml, found.take_ml, found.splits) == (200, 500, 350, False)


def test_a_soak_covers_the_seed_and_warns_for_legumes() -> None:
    assert wetting(D(2), "soak", "bean").splits
    assert not wetting(D(2), "soak", "rice").splits
    assert wetting(D(2), "soak", "rice").low_ml == 2_000
    assert span("soak") == (1000, 1500)


def test_seed_leaves_the_shade_after_half_an_hour() -> None:
    wetted = datetime(2026, 3, 1, 23, 45, tzinfo=UTC)
    assert out_of_shade_at(wetted) == datetime(2026, 3, 2, 0, 15, tzinfo=UTC)


def test_a_known_crop_has_its_seed_rate_and_an_unknown_one_none() -> None:
    assert seed_for("cowpea", D(10_000)) == (D(20), D(25))
    assert seed_for("orchid", D(10_000)) is None
    assert all(rate.low_kg_per_ha <= rate.high_kg_per_ha for rate in SEED_RATES.values())
    assert all(each.low_ml <= each.high_ml for each in PUBLISHED)


def test_rice_roots_stand_for_hours_and_others_for_minutes() -> None:
    assert root_dip("rice").low_minutes == 480
    assert root_dip("tomato").high_minutes == 10


@pytest.mark.parametrize(
    ("ask", "field", "reason"),
    [
        (lambda: wetting(D(0)), "weight_kg", "zero"),
        (lambda: wetting(D(-1)), "weight_kg", "negative"),
        (lambda: wetting(D(100_001)), "weight_kg", "too_large"),
        (lambda: seed_for("rice", D(0)), "area_m2", "zero"),
    ],
)
def test_weights_that_cannot_be_are_named(ask: object, field: str, reason: str) -> None:
    assert callable(ask)
    with pytest.raises(AmountError) as caught:
        ask()
    assert (caught.value.field, caught.value.reason) == (field, reason)


@given(st.decimals("0.1", 1000, places=2), st.decimals("0.1", 1000, places=2))
def test_more_seed_takes_more_culture_and_a_coat_keeps_its_cap(one: D, more: D) -> None:
    less, greater = wetting(one), wetting(one + more)
    assert less.take_ml <= greater.take_ml
    assert less.low_ml <= less.take_ml <= less.high_ml
    assert less.take_ml <= one * 50 * D("1.01") + 1
