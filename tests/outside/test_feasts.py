"""Movable feasts against a general-purpose library."""

import pytest
from dateutil.easter import easter as reference

from bot.language.days_from_now import easter


@pytest.mark.parametrize("year", range(1950, 2100))
def test_easter_is_the_day_of_the_reference_library(year: int) -> None:
    """Source: python-dateutil, dateutil.easter (Western, Gregorian)."""
    assert easter(year) == reference(year)
