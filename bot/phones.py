"""What a sender's address is: a number in E.164 with its country and zone, a short code, a name."""

from __future__ import annotations

from enum import Enum

import phonenumbers
from phonenumbers import PhoneNumberType, ValidationResult, timezone

LONGEST_DIGITS = 15
"""Source: ITU-T E.164, section 6.2.1."""

SHORTEST_DIGITS = 7
"""Fewer digits are a short code, whose price is its owner's. Common practice, no source."""


class Kind(Enum):
    """What an address is, and so whether it may be written to."""

    PHONE = "phone"
    SHORT_CODE = "short code"
    NAME = "name"
    """Letters instead of a number: a company's notices; nobody reads what is sent back."""
    PREMIUM = "premium"
    NOTHING = "nothing"


COSTLY = {PhoneNumberType.PREMIUM_RATE, PhoneNumberType.SHARED_COST}


def normal(address: str, country: str = "") -> str:
    """The number in E.164, or "" where the address is none.

    `country` is the two letter code whose national numbers are meant by a number without `+`.
    Without it, or where it does not fit, the digits are read as if only the `+` were missing.

    >>> normal("098765 43210", "IN"), normal("919876543210"), normal("AIRTEL"), normal("55555")
    ('+919876543210', '+919876543210', '', '')
    """
    found = _parsed(address, country)
    if found is None:
        return ""
    return phonenumbers.format_number(found, phonenumbers.PhoneNumberFormat.E164)


def kind(address: str, country: str = "") -> Kind:
    """What an address is.

    >>> kind("+919876543210"), kind("AIRTEL"), kind("55555")
    (<Kind.PHONE: 'phone'>, <Kind.NAME: 'name'>, <Kind.SHORT_CODE: 'short code'>)
    """
    if any(char.isalpha() for char in address):
        return Kind.NAME
    found = _parsed(address, country)
    if found is not None:
        costly = phonenumbers.number_type(found) in COSTLY
        return Kind.PREMIUM if costly else Kind.PHONE
    digits = sum(char.isdigit() for char in address)
    return Kind.SHORT_CODE if 0 < digits < SHORTEST_DIGITS else Kind.NOTHING


def country(number: str) -> str:
    """The two letter country of a number in E.164, or "" where the prefix does not say.

    >>> country("+254712345678"), country("+870773111632")
    ('KE', '')
    """
    found = _parsed(number, "")
    region = "" if found is None else phonenumbers.region_code_for_number(found)
    return region if region and region.isalpha() else ""


def zones(number: str) -> tuple[str, ...]:
    """The IANA zones in which a number in E.164 may be, to be confirmed; none where unknown.

    >>> zones("+254712345678")
    ('Africa/Nairobi',)
    """
    found = _parsed(number, "")
    if found is None:
        return ()
    return tuple(zone for zone in timezone.time_zones_for_number(found) if zone != "Etc/Unknown")


def _parsed(address: str, country: str) -> phonenumbers.PhoneNumber | None:
    bare = address.strip()
    if not bare or any(char.isalpha() for char in bare):
        return None
    national = None if bare.startswith("+") or not country else _read(bare, country)
    if national is not None and phonenumbers.is_valid_number(national):
        return national
    whole = _read("+" + bare.lstrip("+"), None)
    if whole is not None and (bare.startswith("+") or phonenumbers.is_valid_number(whole)):
        return whole
    return national


def _read(text: str, country: str | None) -> phonenumbers.PhoneNumber | None:
    """The number if its length is possible; new ranges are used before any list knows them."""
    try:
        found = phonenumbers.parse(text, country)
    except phonenumbers.NumberParseException:
        return None
    length = phonenumbers.is_possible_number_with_reason(found)
    return found if length == ValidationResult.IS_POSSIBLE else None
