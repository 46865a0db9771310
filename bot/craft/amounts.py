"""The bounds of an amount: what cannot be is named by its field and reason, never let through."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Literal

Reason = Literal["zero", "negative", "too_small", "too_large", "too_many"]

LARGEST_ML = 1_000_000_000
"""A thousand cubic metres: more is a slip of the pen."""


class AmountError(ValueError):
    """An amount that cannot be: `field` names it, `reason` says what is wrong with it."""

    def __init__(self, field: str, reason: Reason) -> None:
        super().__init__(f"{field}: {reason}")
        self.field = field
        self.reason = reason


def positive(**amounts: Decimal | Fraction | int) -> None:
    """Nothing, if every amount is above zero and finite.

    Raises:
        AmountError: the first that is not.
    """
    for field, amount in amounts.items():
        if isinstance(amount, Decimal) and not amount.is_finite():
            raise AmountError(field, "too_large")
        if amount <= 0:
            raise AmountError(field, "zero" if amount == 0 else "negative")


def measurable(**amounts_ml: int) -> None:
    """Nothing, if every amount is above zero and at most a thousand cubic metres.

    Raises:
        AmountError: the first that is not.
    """
    positive(**amounts_ml)
    for field, amount_ml in amounts_ml.items():
        if amount_ml > LARGEST_ML:
            raise AmountError(field, "too_large")
