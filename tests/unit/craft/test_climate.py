from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.craft import climate


def test_past_the_table_there_is_no_answer() -> None:
    assert climate.mean_c(40.1, 0, 1) is None
    assert climate.mean_on_c(-52, -70, date(2026, 1, 1)) is None
    assert climate.mean_c(40, 0, 1) is not None


@pytest.mark.parametrize("month", [0, 13])
def test_there_are_twelve_months(month: int) -> None:
    with pytest.raises(ValueError, match="not between 1 and 12"):
        climate.mean_c(0, 0, month)


def test_a_higher_place_is_cooler_by_its_altitude() -> None:
    low, high = climate.mean_c(-1.3, 36.8, 7, 700), climate.mean_c(-1.3, 36.8, 7, 1700)
    assert low is not None
    assert high is not None
    assert low - high == pytest.approx(climate.COOLER_C_PER_KM)


@given(st.floats(-40, 40), st.floats(-180, 360), st.integers(1, 12))
def test_every_place_in_the_table_has_a_temperature_people_live_at(
    latitude: float, longitude: float, month: int
) -> None:
    found = climate.mean_c(latitude, longitude, month)
    assert found is not None
    assert -30 < found < 45


@given(st.floats(-40, 40))
def test_the_table_closes_around_the_earth(latitude: float) -> None:
    west, east = climate.mean_c(latitude, -0.001, 4), climate.mean_c(latitude, 0, 4)
    assert west == pytest.approx(east, abs=0.05)


def test_days_go_from_month_to_month_without_a_step() -> None:
    days = [date.fromordinal(date(2025, 12, 1).toordinal() + k) for k in range(430)]
    seen = [climate.mean_on_c(21.1, 79.1, day, 310) for day in days]
    assert all(abs((b or 0) - (a or 0)) < 0.35 for a, b in pairwise(seen))
