"""Numbers in E.164, against the standard and phonenumbers' own plans.

Source: ITU-T E.164; the national numbers as phonenumbers 9.0.43 reads them (mark V: run).
"""

from __future__ import annotations

import phonenumbers
import pytest

from bot.phones import LONGEST_DIGITS, Kind, country, kind, normal, zones


@pytest.mark.parametrize(
    ("typed", "home", "number", "where"),
    [
        ("098765 43210", "IN", "+919876543210", "IN"),
        ("0712345678", "KE", "+254712345678", "KE"),
        ("0911234567", "ET", "+251911234567", "ET"),
        ("9841234567", "NP", "+9779841234567", "NP"),
        ("+50251234567", "", "+50251234567", "GT"),
    ],
)
def test_national_numbers_become_e164(typed: str, home: str, number: str, where: str) -> None:
    assert normal(typed, home) == number
    assert country(number) == where
    assert kind(number) is Kind.PHONE


def test_a_number_of_sixteen_digits_is_none() -> None:
    assert LONGEST_DIGITS == 15
    assert normal("+1234567890123456") == ""


@pytest.mark.parametrize(
    "region", ["IN", "KE", "ET", "NP", "GT", "BD", "TZ", "BR", "MX", "SN", "EG"]
)
def test_the_example_number_of_each_country_is_read_back(region: str) -> None:
    example = phonenumbers.example_number_for_type(region, phonenumbers.PhoneNumberType.MOBILE)
    assert example is not None
    e164 = phonenumbers.format_number(example, phonenumbers.PhoneNumberFormat.E164)
    national = phonenumbers.format_number(example, phonenumbers.PhoneNumberFormat.NATIONAL)
    assert normal(national, region) == e164
    assert normal(e164.lstrip("+")) == e164
    assert country(e164) == region
    assert zones(e164)


@pytest.mark.parametrize("region", ["IN", "GB", "FR", "BR", "ZA"])
def test_a_premium_number_is_never_taken_for_a_phone(region: str) -> None:
    example = phonenumbers.example_number_for_type(
        region, phonenumbers.PhoneNumberType.PREMIUM_RATE
    )
    assert example is not None
    e164 = phonenumbers.format_number(example, phonenumbers.PhoneNumberFormat.E164)
    assert kind(e164) is Kind.PREMIUM
