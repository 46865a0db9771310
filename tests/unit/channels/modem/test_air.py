"""Validity and why a send failed."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.channels.modem.air import failed, lasts, validity
from bot.messages import Became


@given(st.integers(1, 70 * 7 * 24 * 60))
def test_the_validity_is_the_longest_that_does_not_outlast_the_message(minutes: int) -> None:
    left = timedelta(minutes=minutes)
    octet = validity(left)
    longest = max((lasts(one) for one in range(256) if lasts(one) <= left), default=lasts(0))
    assert lasts(octet) == longest


@pytest.mark.parametrize(
    ("code", "became", "whole_channel", "dead"),
    [
        (1, Became.REFUSED, False, True),
        (30, Became.REFUSED, False, True),
        (96, Became.REFUSED, False, False),
        (8, Became.LATER, True, False),
        (310, Became.LATER, True, False),
        (322, Became.LATER, True, False),
        (38, Became.LATER, True, False),
        (331, Became.LATER, True, False),
        (27, Became.LATER, False, False),
        (500, Became.LATER, False, False),
        (332, Became.UNKNOWN, False, False),
        (-1, Became.UNKNOWN, False, False),
    ],
)
def test_a_failure_is_the_numbers_the_sims_or_the_networks(
    code: int, became: Became, *, whole_channel: bool, dead: bool
) -> None:
    outcome = failed(code)
    assert outcome.became is became
    assert outcome.whole_channel is whole_channel
    assert outcome.dead_address is dead
    assert outcome.cause
    assert (outcome.retry_after_s is not None) == (became is Became.LATER)
