import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.craft.growth import Law, beyond, pace, pace_unbent

ANY_C = st.floats(-273, 1000)
CUSTOM = Law.of_window(5, 7)


# The check values of the readiness study (computed there, marked C).
@pytest.mark.parametrize(
    ("temperature_c", "share"),
    [(15, 0.215217), (22, 0.529412), (31, 0.947872), (34, 1), (40, 0.553846), (4, 0), (42, 0)],
)
def test_the_pace_at_a_temperature(temperature_c: float, share: float) -> None:
    assert pace(temperature_c) == pytest.approx(share, abs=1e-6)


def test_the_custom_of_5_to_7_days_has_a_part_that_no_warmth_shortens() -> None:
    fastest = (2 + math.log(50)) / CUSTOM.growing_days
    assert pytest.approx(2.469717, abs=1e-6) == CUSTOM.fixed_days
    assert fastest == pytest.approx(2.465002, abs=1e-6)


@pytest.mark.parametrize(("temperature_c", "days"), [(31, 5), (22, 7), (26, 5.740242)])
def test_a_fresh_start_takes_the_custom(temperature_c: float, days: float) -> None:
    assert CUSTOM.days_at(temperature_c) == pytest.approx(days, abs=1e-6)


@pytest.mark.parametrize(("temperature_c", "days"), [(31, 3.455199), (22, 4.234149)])
def test_a_kept_back_tenth_is_faster_by_growth_alone(temperature_c: float, days: float) -> None:
    assert CUSTOM.started_from(0.1).days_at(temperature_c) == pytest.approx(days, abs=1e-6)


def test_days_that_change_add_up() -> None:
    assert CUSTOM.days_along([22, 24, 26, 28, 28]) == pytest.approx(5.805604, abs=1e-6)
    assert CUSTOM.days_along([26] * 9) == pytest.approx(CUSTOM.days_at(26))


def test_a_window_too_wide_for_growth_is_met_at_its_middle() -> None:
    law = Law.of_window(4, 16)
    assert law.fixed_days == 0
    assert law.days_at(31) * law.days_at(22) == pytest.approx(64)


def test_a_window_of_one_day_begins_without_an_effect_of_temperature() -> None:
    assert Law.of_window(10, 10) == Law(10, 0)


def test_without_a_downturn_heat_does_not_slow() -> None:
    assert pace_unbent(50) == 1
    assert Law.of_share(6, 1, 27, bent=False).days_at(39) < Law.of_share(6, 1, 27).days_at(39)


def test_heat_and_cold_past_the_curve_are_known_as_such() -> None:
    assert [beyond(t) for t in (3, 26, 42.5)] == [True, False, True]


@given(ANY_C, ANY_C, st.booleans(), st.floats(0, 1))
def test_every_temperature_gives_a_number(
    one_c: float, other_c: float, bent: bool, share: float
) -> None:
    law = Law.of_share(6, share, 27, bent=bent)
    for days_c in ((one_c,), (one_c, other_c), (one_c, other_c, one_c)):
        days = law.days_along(days_c)
        assert 0 < days < 61
        slope = law.slope_along(days_c, days)
        assert math.isfinite(slope)
        assert slope >= 0


@given(st.floats(5, 33), st.floats(0.1, 5))
def test_warmer_is_never_later_up_to_the_best_temperature(cool_c: float, more_c: float) -> None:
    warmer_c = min(cool_c + more_c, 34)
    assert CUSTOM.days_at(warmer_c) <= CUSTOM.days_at(cool_c)
