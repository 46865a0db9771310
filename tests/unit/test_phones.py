"""Addresses that are no phone, and where a number is from."""

from __future__ import annotations

import pytest

from bot.phones import Kind, country, kind, normal, zones


@pytest.mark.parametrize(
    ("address", "what"),
    [
        ("AIRTEL", Kind.NAME),
        ("VM-BANK1", Kind.NAME),
        ("कृषि", Kind.NAME),
        ("55555", Kind.SHORT_CODE),
        ("112", Kind.SHORT_CODE),
        ("", Kind.NOTHING),
        ("+", Kind.NOTHING),
        ("+000000000000000", Kind.NOTHING),
        ("+1234567890123456", Kind.NOTHING),
        ("919876543210", Kind.PHONE),
    ],
)
def test_an_address_is_told_by_its_form(address: str, what: Kind) -> None:
    assert kind(address) is what
    assert (normal(address) != "") == (what is Kind.PHONE)


def test_digits_without_a_plus_are_read_in_the_country_first() -> None:
    assert normal("919876543210", "IN") == "+919876543210"
    assert normal("919876543210", "KE") == "+919876543210"
    assert normal("0712 345678", "KE") == "+254712345678"


def test_a_possible_number_of_a_new_range_is_kept() -> None:
    assert normal("1234567890", "IN") == "+911234567890"
    assert normal("+911234567890") == "+911234567890"


def test_a_number_says_its_zones_to_be_confirmed() -> None:
    assert zones("+254712345678") == ("Africa/Nairobi",)
    assert len(zones("+18005550100")) > 1
    assert zones("+999123456789") == ()
    assert zones("55555") == ()


def test_a_satellite_phone_has_no_country() -> None:
    assert country("+870773111632") == ""
    assert country("55555") == ""
