"""A member's own cup, cap and bucket."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.craft.amounts import AmountError
from bot.craft.measures import by, found_against, holds, in_measures, measure
from bot.craft.mixing import Fill, mix_of, parts

D = Decimal
CUP, CAP, BUCKET = measure("cup", D(180)), measure("cap", D(20)), measure("bucket", D(12_000))
OWN = (CUP, CAP, BUCKET)


def test_five_cups_to_a_marked_litre_hold_two_hundred_each() -> None:
    assert found_against("cup", D(1000), D(5)) == measure("cup", D(200))


def test_an_amount_is_said_in_the_fewest_scoops_that_are_near() -> None:
    scoops = in_measures(D(540), OWN)
    assert scoops is not None
    assert (scoops.measure.name, scoops.count, scoops.ml) == ("cup", D(3), D(540))
    assert not scoops.error_told


def test_a_half_bucket_is_said_but_not_a_half_cap() -> None:
    half = in_measures(D(6_000), OWN)
    assert half is not None
    assert (half.measure.name, half.count) == ("bucket", D("0.5"))
    cap = in_measures(D(60), OWN)
    assert cap is not None
    assert (cap.measure.name, cap.count) == ("cap", D(3))


def test_the_nearest_is_said_with_its_error_and_a_far_one_not_at_all() -> None:
    near = in_measures(D(95), [CUP])
    assert near is not None
    assert near.error_told
    assert round(near.error_percent, 1) == D("-5.3")
    assert in_measures(D(5), [CUP]) is None
    assert in_measures(D(130), [CUP]) is None
    assert in_measures(D(100), []) is None


def test_a_cup_count_is_read_back_as_millilitres() -> None:
    assert holds(OWN, "cup", D(2)) == 360
    assert holds(OWN, "jug", D(2)) is None


def test_a_mix_can_be_measured_with_the_members_own_cup() -> None:
    assert mix_of(16_000, parts(1, 3), rounding=by(CUP)).fills == (Fill(1, 3_960, 12_040),)
    assert by(CAP)(Fraction(51)) == 60


@pytest.mark.parametrize(
    ("ask", "field", "reason"),
    [
        (lambda: measure("cup", D(0)), "measure_ml", "zero"),
        (lambda: measure("cup", D(1_000_001)), "measure_ml", "too_large"),
        (lambda: measure("cup", D("NaN")), "measure_ml", "too_large"),
        (lambda: found_against("cup", D(1000), D(0)), "times", "zero"),
        (lambda: in_measures(D(0), OWN), "amount_ml", "zero"),
    ],
)
def test_measures_that_cannot_be_are_named(ask: object, field: str, reason: str) -> None:
    assert callable(ask)
    with pytest.raises(AmountError) as caught:
        ask()
    assert (caught.value.field, caught.value.reason) == (field, reason)


@given(st.integers(1, 100_000), st.integers(5, 20_000))
def test_scoops_are_never_far_off_nor_uncountable(amount: int, holds_ml: int) -> None:
    scoops = in_measures(D(amount), [measure("own", D(holds_ml))])
    if scoops is not None:
        assert abs(scoops.ml - amount) * 10 <= amount
        assert 0 < scoops.count <= 20
