"""Digits with their marks, by a language's decimal habit: strict, never guessed from a locale."""

from __future__ import annotations

import unicodedata
from decimal import Decimal
from fractions import Fraction

from bot.language.tokens import VULGAR

CAP_DIGITS = 12
"""A longer run of digits is no amount anyone measures."""


def numeral(text: str, decimal: str) -> Decimal | None:
    """The number a run of digits stands for, or None where it is no plain number.

    `decimal` is the mark before tenths; three digits behind the other mark are thousands.

    >>> numeral("1.500", ","), numeral("1.500", "."), numeral("1,00,000", ".")
    (Decimal('1500'), Decimal('1.500'), Decimal('100000'))
    >>> numeral("1.5.2025", ".") is None
    True
    """
    if text[-1] in VULGAR:
        part = Decimal(Fraction(unicodedata.numeric(text[-1])).limit_denominator(10).numerator)
        part /= Fraction(unicodedata.numeric(text[-1])).limit_denominator(10).denominator
        whole = numeral(text[:-1], decimal) if len(text) > 1 else Decimal(0)
        return None if whole is None else whole + part
    if text.isdigit():
        return Decimal(text) if len(text) <= CAP_DIGITS else None
    bare = text.replace(" ", "").replace("\u00a0", "")
    if sum(map(str.isdigit, bare)) > CAP_DIGITS:
        return None
    if bare.isdigit():
        return Decimal(bare)
    points, commas = bare.count("."), bare.count(",")
    if points and commas:
        mark = "." if bare.rindex(".") > bare.rindex(",") else ","
        whole_text, _, tenths = bare.rpartition(mark)
        thousands = _grouped(whole_text, "," if mark == "." else ".")
        if thousands is None or mark in whole_text:
            return None
        return Decimal(f"{thousands}.{tenths}")
    mark = "." if points else ","
    if points + commas > 1:
        digits = _grouped(bare, mark)
        return None if digits is None else Decimal(digits)
    head, _, tail = bare.partition(mark)
    if mark != decimal and len(tail) == 3 and head not in ("", "0") and len(head) <= 3:
        return Decimal(head + tail)
    return Decimal(f"{head or 0}.{tail}")


def other_reading(text: str, decimal: str) -> Decimal | None:
    """What 1,500 or 1.500 would be by the other habit; None where only one reading is possible.

    >>> other_reading("1.500", ","), other_reading("2.5", ",")
    (Decimal('1.500'), None)
    """
    head, mark, tail = text.partition("." if "." in text else ",")
    if mark and tail.isdigit() and len(tail) == 3 and head.isdigit() and 0 < len(head) <= 3:
        return None if head == "0" else numeral(text, "," if decimal == "." else ".")
    return None


def _grouped(text: str, mark: str) -> str | None:
    """The digits of a number grouped in threes, or as 1,00,000; None if the groups are not."""
    first, *groups = text.split(mark)
    if not all(group.isdigit() for group in (first, *groups)) or len(first) > 3:
        return None
    by_threes = all(len(group) == 3 for group in groups)
    by_lakhs = len(groups[-1]) == 3 and all(len(group) == 2 for group in groups[:-1])
    return first + "".join(groups) if by_threes or by_lakhs else None
