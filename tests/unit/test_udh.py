"""The header of a part."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.udh import Header, header, part_headers


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
