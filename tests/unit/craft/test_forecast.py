import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.special import ndtr

from bot.craft.forecast import Forecast, between

PARTS = st.lists(
    st.tuples(st.floats(0.05, 1), st.floats(0, 4), st.floats(0.05, 1)), min_size=1, max_size=5
)


def forecast_of(parts: list[tuple[float, float, float]]) -> Forecast:
    whole = sum(weight for weight, _, _ in parts)
    return Forecast(tuple((weight / whole, mean, sd) for weight, mean, sd in parts))


# The check values of the readiness study: a new group at 26 degrees.
NEW = Forecast(((1.0, 1.747501, 0.277308),))


def test_the_chances_of_a_new_group() -> None:
    assert NEW.interval_days(0.8) == pytest.approx((4.023356, 8.189776), abs=1e-5)
    assert NEW.chance_by(6) == pytest.approx(0.563401, abs=1e-5)
    assert NEW.chance_by(7, not_yet_days=6) == pytest.approx(0.456810, abs=1e-5)
    assert NEW.median_days == pytest.approx(5.740242, abs=1e-5)


def test_a_normal_between_two_values() -> None:
    assert between(0, 1, -1, 0.5) == pytest.approx((0.532807, -0.206631, 0.172773), abs=1e-6)


@pytest.mark.parametrize(
    ("low", "high", "mean"), [(40, 41, 40), (-41, -40, -40), (40, math.inf, 40)]
)
def test_far_out_the_nearer_end_is_all_that_is_known(low: float, high: float, mean: float) -> None:
    assert between(0, 1, low, high) == (0, mean, 0)


def test_the_day_it_turned_lies_between_the_looks() -> None:
    assert 6 < NEW.turned_days(6, 7) < 7
    assert NEW.turned_days(0, 5) < 5
    assert NEW.turned_days(300, 400) == 300
    assert Forecast(((1.0, 9.0, 0.01),)).turned_days(0, 5) == 5


def test_ready_before_not_ready_cannot_be() -> None:
    with pytest.raises(ValueError, match="not ready comes before"):
        NEW.turned_days(7, 6)


@pytest.mark.parametrize("chance", [0, 1, -1, float("nan")])
def test_a_chance_lies_between_0_and_1(chance: float) -> None:
    with pytest.raises(ValueError, match="not between 0 and 1"):
        NEW.by_chance(chance)


def test_long_past_every_day_it_is_taken_to_be_ready() -> None:
    assert NEW.chance_by(10**9, not_yet_days=10**8) == 1
    assert NEW.by_chance(0.5, not_yet_days=10**8) == 10**8


@given(PARTS, st.floats(0.01, 60), st.floats(0, 30), st.floats(0, 30))
def test_chance_only_rises_with_days(
    parts: list[tuple[float, float, float]], day: float, more: float, not_yet: float
) -> None:
    found = forecast_of(parts)
    first, second = found.chance_by(day, not_yet), found.chance_by(day + more, not_yet)
    assert 0 <= first <= second <= 1
    assert found.chance_by(0, not_yet) == 0


@given(PARTS, st.floats(0.02, 0.98), st.floats(0, 20))
def test_the_day_of_a_chance_has_that_chance(
    parts: list[tuple[float, float, float]], chance: float, not_yet: float
) -> None:
    found = forecast_of(parts)
    if found.chance_by(not_yet) > 0.999:
        return
    day = found.by_chance(chance, not_yet)
    assert day >= not_yet
    assert found.chance_by(day, not_yet) == pytest.approx(chance, abs=1e-3)


@given(PARTS, st.floats(0.02, 0.98))
def test_the_day_of_a_chance_is_that_of_a_root_finder(
    parts: list[tuple[float, float, float]], chance: float
) -> None:
    """Source: scipy's Brent root finder over its normal distribution."""
    found = forecast_of(parts)
    weights, means, sds = (np.array(column) for column in zip(*found.parts, strict=True))

    def missing(log_day: float) -> float:
        return float(np.sum(weights * ndtr((log_day - means) / sds)) - chance)

    log_day = brentq(missing, -20, 20, xtol=1e-13)
    assert math.log(found.by_chance(chance)) == pytest.approx(log_day, abs=1e-7)


@given(PARTS, st.floats(0.1, 20))
def test_not_yet_never_brings_the_day_nearer(
    parts: list[tuple[float, float, float]], not_yet: float
) -> None:
    found = forecast_of(parts)
    assert found.by_chance(0.5, not_yet) >= found.median_days - 1e-6
