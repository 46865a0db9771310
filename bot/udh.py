"""The user data header of an SMS: which part of how many, and in which letters. Pure."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

_CONCAT_8, _CONCAT_16 = 0x00, 0x08
_PORT_8, _PORT_16 = 0x04, 0x05
_SINGLE_SHIFT, _LOCKING_SHIFT = 0x24, 0x25


@dataclass(frozen=True, slots=True)
class Header:
    """What a user data header says. `total` is 1 where the message stands alone.

    Source: 3GPP TS 23.040, section 9.2.3.24 (elements 00, 04, 05, 08, 24, 25).
    """

    reference: int = 0
    total: int = 1
    number: int = 1
    shifted: bool = False
    to_port: bool = False


def header(udh: str) -> Header:
    """A header from its hex digits; one that is cut short or absurd counts as none.

    >>> header("0500034A0302")
    Header(reference=74, total=3, number=2, shifted=False, to_port=False)
    >>> header("03240106").shifted
    True
    """
    try:
        octets = bytes.fromhex(udh)
    except ValueError:
        return Header()
    reference, total, number, shifted, to_port = 0, 1, 1, False, False
    at = 1
    while at + 2 <= len(octets):
        element, length = octets[at], octets[at + 1]
        inside = octets[at + 2 : at + 2 + length]
        at += 2 + length
        if element in (_CONCAT_8, _CONCAT_16) and len(inside) == (3 if element == 0 else 4):
            reference = int.from_bytes(inside[:-2], "big")
            total, number = inside[-2], inside[-1]
        shifted = shifted or element in (_SINGLE_SHIFT, _LOCKING_SHIFT)
        to_port = to_port or element in (_PORT_8, _PORT_16)
    if not 1 <= number <= total:
        reference, total, number = 0, 1, 1
    return Header(reference, total, number, shifted, to_port)


def part_headers(key: str, total: int) -> tuple[str, ...]:
    """The hex headers of a message of several parts; its reference follows from its key.

    So every try of one message bears the same reference.
    """
    reference = hashlib.sha256(key.encode()).digest()[0]
    return tuple(f"050003{reference:02X}{total:02X}{n:02X}" for n in range(1, total + 1))
