"""Nutrients: an upper bound, thinned and on an area; the metal in a salt; copper on land."""

from datetime import UTC, date, datetime
from decimal import Decimal

import periodictable
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.craft import copper
from bot.craft.amounts import AmountError
from bot.craft.copper import Load
from bot.craft.entries import Entry, Head
from bot.craft.nutrients import (
    ELEMENTS,
    FOODS,
    OILSEEDS,
    PULSES,
    SALT_NAMES,
    at_most_mg_per_l,
    at_most_of_kinds,
    g_per_ha,
    share_of_metal,
    thinned,
)

D = Decimal
GRAMS = st.decimals(min_value="0.1", max_value="5000", places=1)


@given(st.sampled_from(OILSEEDS), st.sampled_from(PULSES), GRAMS, GRAMS)
def test_no_choice_of_seed_is_above_the_bound_of_its_kind(
    oilseed: str, pulse: str, some: Decimal, more: Decimal
) -> None:
    bound = at_most_of_kinds(some, more, D(25))
    held = at_most_mg_per_l({oilseed: some, pulse: more}, D(25))
    assert all(held[each] <= bound[each] + D("1e-9") for each in ELEMENTS)


@given(st.sampled_from(sorted(FOODS)), GRAMS, st.integers(0, 1000))
def test_thinning_never_adds_and_twice_the_seed_is_twice_as_much(
    food: str, grams: Decimal, parts: int
) -> None:
    held = at_most_mg_per_l({food: grams}, D(20))
    thin = thinned(held, D(parts))
    double = at_most_mg_per_l({food: grams * 2}, D(20))
    for each in ELEMENTS:
        assert 0 <= thin[each] <= held[each]
        assert abs(double[each] - 2 * held[each]) < D("1e-9")


def test_nothing_is_no_amount() -> None:
    with pytest.raises(AmountError):
        at_most_mg_per_l({"mustard": D(0)}, D(1))
    with pytest.raises(AmountError):
        at_most_of_kinds(D(1), D(1), D(0))
    with pytest.raises(AmountError):
        g_per_ha({"N": D(1)}, D(0))


def test_a_sulphate_is_mostly_something_else_than_its_metal_an_oxide_is_not() -> None:
    shares = {salt: share_of_metal(salt) for salt in SALT_NAMES}
    assert all(D("0.05") < share < 1 for share in shares.values())
    assert all(share < D("0.5") for salt, share in shares.items() if "sulphate" in salt)
    assert shares["copper_oxide"] > D("0.8")
    assert periodictable.Cu.symbol == "Cu"


def test_copper_of_seven_years_is_added_up_and_older_is_out() -> None:
    loads = [
        Load(date(2019, 3, 2), D(9)),
        Load(date(2019, 3, 3), D(2)),
        Load(date(2026, 3, 3), D(5)),
    ]
    assert copper.over_years(loads, date(2026, 3, 2)) == 2
    assert copper.left(loads, date(2026, 3, 3)) == 23


def test_seven_years_before_a_leap_day_is_the_day_before() -> None:
    assert copper.over_years([Load(date(2021, 3, 1), D(1))], date(2028, 2, 29)) == 1


def test_a_salt_counts_by_its_metal_and_no_area_is_no_load() -> None:
    one = copper.load(date(2026, 3, 2), D(1), D(10_000), "copper_sulphate")
    assert round(one.kg_per_ha, 4) == D("0.2545")
    with pytest.raises(AmountError):
        copper.load(date(2026, 3, 2), D(1), D(0))


def test_a_ledger_is_folded_from_its_entries() -> None:
    noon = datetime(2026, 3, 2, 12, tzinfo=UTC)
    head = Head("c", "copper", "copper", "g", noon)
    ledger = copper.fold(head, [Entry("copper", noon, {"kg_per_ha": "1.5"}), Entry("copper", noon)])
    assert ledger.loads == (Load(date(2026, 3, 2), D("1.5")),)
