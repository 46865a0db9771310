"""Codes people type: drawn from chance that is handed in, without signs that look alike."""

from __future__ import annotations

from hashlib import sha256

LETTERS = "CDFHJKMNPQRTWY"
DIGITS = "34679"
SIGNS = DIGITS + LETTERS
"""No 0 O, 1 I L, 2 Z, 5 S, 8 B, G and 6, U V, no X that may multiply, no vowels that make words."""
LENGTH = 6
FIRST_PIN, PINS = 4000, 6000
"""A confirming number is 4000 to 9999: it can be no year and no time of day."""


def invite_code(chance: str) -> str:
    """A code of six signs, the same for the same chance: a letter, a digit, and four of either.

    So it is never a word, a number or an amount in any language, whatever case it is typed in.

    >>> code = invite_code("0f3a")
    >>> len(code), set(code) <= set(SIGNS), code == invite_code("0f3a")
    (6, True, True)
    """
    drawn = int.from_bytes(sha256(chance.encode()).digest())
    signs = []
    for among in (LETTERS, DIGITS, *([SIGNS] * (LENGTH - 2))):
        drawn, place = divmod(drawn, len(among))
        signs.append(among[place])
    return "".join(signs)


def normal(typed: str) -> str:
    """A code as it was given out, however it was typed.

    >>> normal("k7qm-2x "), normal("K7Q M2X")
    ('K7QM2X', 'K7QM2X')
    """
    return "".join(each for each in typed.upper() if each.isalnum())


def pin(chance: str) -> int:
    """Four digits to confirm with, from 4000 to 9999.

    >>> 4000 <= pin("0f3a") <= 9999
    True
    """
    return FIRST_PIN + int.from_bytes(sha256(chance.encode()).digest()) % PINS
