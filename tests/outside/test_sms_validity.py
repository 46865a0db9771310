"""Relative validity against the standard's own table.

Source: 3GPP TS 23.040, section 9.2.3.12.1 (table from memory): 0 to 143, (v + 1) x 5 minutes; 144
to 167, 12 hours + (v - 143) x 30 minutes; 168 to 196, (v - 166) days; 197 to 255, (v - 192) weeks.
"""

from __future__ import annotations

from datetime import timedelta

import pytest

from bot.channels.modem.air import lasts, validity


@pytest.mark.parametrize(
    ("octet", "left"),
    [
        (0, timedelta(minutes=5)),
        (11, timedelta(hours=1)),
        (143, timedelta(hours=12)),
        (144, timedelta(hours=12, minutes=30)),
        (167, timedelta(hours=24)),
        (168, timedelta(days=2)),
        (196, timedelta(days=30)),
        (197, timedelta(weeks=5)),
        (255, timedelta(weeks=63)),
    ],
)
def test_the_ends_of_each_range_are_those_of_the_standard(octet: int, left: timedelta) -> None:
    assert lasts(octet) == left
    assert validity(left) == octet
