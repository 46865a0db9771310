"""Headers, validity and why a send failed."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.channels.modem.air import Header, failed, header, lasts, part_headers, validity
from bot.messages import Became


@pytest.mark.parametrize(
    ("udh", "read"),
    [
        ("0500034A0302", Header(74, 3, 2)),
        ("060804123402 01".replace(" ", ""), Header(0x1234, 2, 1)),
        ("03240106", Header(shifted=True)),
        ("0325010A", Header(shifted=True)),
        ("0825010A00034A0302", Header(74, 3, 2, shifted=True)),
        ("0605040B8423F0", Header(to_port=True)),
        ("0404020101", Header(to_port=True)),
        ("", Header()),
        ("0500034A0300", Header()),
        ("0500034A0304", Header()),
        ("0500034A", Header()),
        ("05000", Header()),
        ("no hex", Header()),
        ("0500", Header()),
    ],
)
def test_a_header_is_read_element_by_element(udh: str, read: Header) -> None:
    assert header(udh) == read


@given(st.binary(max_size=140))
def test_no_header_breaks_the_reading(octets: bytes) -> None:
    found = header(octets.hex())
    assert 1 <= found.number <= found.total


@given(st.text(min_size=1), st.integers(2, 255))
def test_each_part_says_which_it_is_and_bears_the_reference_of_its_key(
    key: str, total: int
) -> None:
    read = [header(udh) for udh in part_headers(key, total)]
    assert [one.number for one in read] == list(range(1, total + 1))
    assert {one.total for one in read} == {total}
    assert len({one.reference for one in read}) == 1
    assert part_headers(key, total) == part_headers(key, total)


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
