"""A sprayer's output, its refills and its nozzles."""

from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.craft.amounts import AmountError, measurable
from bot.craft.sprayer import (
    JAR_PLOT_M2,
    Refills,
    course_for,
    dose_per_tank,
    flow_for,
    from_flow,
    from_jar,
    is_worn,
    refills,
    speed_from,
    tank_covers_m2,
    volume_class,
    volume_for,
    walked,
    worn,
)

D = Decimal
lengths = st.decimals("0.1", 1000, places=2)


def test_twenty_metres_in_twenty_five_seconds_with_half_a_litre() -> None:
    out = walked(D(1), D(20), [D(25)], [D(500)])
    assert out.l_per_ha == 250
    assert out.ml_per_m2 == 25
    assert out.km_per_h == D("2.88")
    assert out.ml_per_min == 1200


def test_several_walks_and_catches_are_averaged() -> None:
    out = walked(D(1), D(20), [D(24), D(26)], [D(400), D(500), D(600)])
    assert out == walked(D(1), D(20), [D(25)], [D(500)])


def test_refills_count_the_part_filled_one() -> None:
    assert refills(D(10_000), D(200), 15_000) == Refills(200_000, 13, 5_000)
    assert refills(D(10_000), D(200), 15_000).tanks == 14
    assert refills(D(800), D(200), 16_000).tanks == 1
    assert refills(D(10), D("0.0004"), 16_000).mix_ml == 1


def test_a_dose_per_hectare_is_shared_by_the_tanks() -> None:
    assert dose_per_tank(D(12), D(180), 15_000) == 1


def test_a_jar_caught_on_its_plot_is_a_rate() -> None:
    assert from_jar(D(200), D(10)) == 200


def test_volumes_rise_with_the_crop() -> None:
    heights = [volume_for(D(cm)) for cm in (10, 30, 31, 60, 100, 150, 400)]
    assert [each.up_to_cm for each in heights] == [30, 30, 60, 60, 100, 150, None]
    assert all(a.low_l_per_ha <= b.low_l_per_ha for a, b in pairwise(heights))


@pytest.mark.parametrize(
    ("l_per_ha", "trees", "name"),
    [
        (601, False, "high"),
        (600, False, "medium"),
        (200, False, "medium"),
        (199, False, "low"),
        (49, False, "very_low"),
        (4, False, "ultra_low"),
        (1000, True, "medium"),
        (49, True, "ultra_low"),
    ],
)
def test_a_volume_has_its_class(l_per_ha: int, trees: bool, name: str) -> None:
    assert volume_class(D(l_per_ha), trees=trees) == name


def test_a_nozzle_a_tenth_off_is_still_good_and_one_more_is_worn() -> None:
    assert not is_worn(D(550), D(500))
    assert is_worn(D(551), D(500))
    assert is_worn(D(449), D(500))
    assert worn([D(500), D(500)]) == ()


@pytest.mark.parametrize(
    ("ask", "field", "reason"),
    [
        (lambda: walked(D(0), D(1), [D(1)], [D(1)]), "swath_m", "zero"),
        (lambda: walked(D(1), D(-1), [D(1)], [D(1)]), "course_m", "negative"),
        (lambda: walked(D(1), D(1), [], [D(1)]), "seconds", "zero"),
        (lambda: walked(D(1), D(1), [D(1)], [D(0)]), "caught_ml", "zero"),
        (lambda: from_flow(D("NaN"), D(1), D(1)), "flow", "too_large"),
        (lambda: from_jar(D(0)), "caught_ml", "zero"),
        (lambda: refills(D(1), D(1), 0), "tank_ml", "zero"),
        (lambda: volume_for(D(0)), "height_cm", "zero"),
        (lambda: measurable(size_ml=10**10), "size_ml", "too_large"),
    ],
)
def test_what_cannot_be_walked_is_named(ask: object, field: str, reason: str) -> None:
    assert callable(ask)
    with pytest.raises(AmountError) as caught:
        ask()
    assert (caught.value.field, caught.value.reason) == (field, reason)


@given(lengths, lengths, lengths)
def test_the_flow_for_a_rate_gives_that_rate_again(rate: D, speed: D, swath: D) -> None:
    again = from_flow(flow_for(rate, speed, swath), speed, swath)
    assert abs(again - rate) < D("1e-15") * rate


@given(lengths, lengths, lengths, lengths)
def test_a_walked_course_and_its_own_flow_agree(swath: D, course: D, seconds: D, caught: D) -> None:
    out = walked(swath, course, [seconds], [caught])
    by_flow = from_flow(out.ml_per_min / 1000, out.km_per_h, swath)
    assert abs(by_flow - out.l_per_ha) < D("1e-15") * out.l_per_ha
    assert out.km_per_h == speed_from(course, seconds)


@given(lengths)
def test_a_course_covers_the_jar_plot(swath: D) -> None:
    assert abs(course_for(swath) * swath - JAR_PLOT_M2) < D("1e-15")


@given(st.integers(100, 10**6), st.integers(1_000, 30_000), st.integers(20, 1000))
def test_full_tanks_and_the_last_are_the_mix(area: int, tank: int, rate: int) -> None:
    found = refills(D(area), D(rate), tank)
    assert found.full * tank + found.last_ml == found.mix_ml
    assert 0 <= found.last_ml < tank
    # A tank's square metres may have no end of decimals: what is cut off counts as covered.
    assert tank_covers_m2(tank, D(rate)) * found.tanks >= area - D("1e-15")
