"""Amounts as figures a grower cannot misread, in letters every phone has."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Context, Decimal

from bot.craft.units import Quantity

_WIDE = Context(prec=400)
"""Room for any number a message can hold: an absurd amount is still echoed back."""

_FINER = {"litre": "millilitre", "kilogram": "gram"}
_COARSER = {"millilitre": "litre", "gram": "kilogram"}


def figures(number: Decimal) -> str:
    """A number in plain figures: a point for the decimals, nothing between thousands.

    At most two decimals from 1 up and three below, so that 1.234 never reads as a thousand; halves
    go away from zero, zeros at the end are left out.

    >>> figures(Decimal("1234.505")), figures(Decimal("0.3333")), figures(Decimal("4.0"))
    ('1234.51', '0.333', '4')
    """
    places = Decimal("0.01") if abs(number) >= 1 else Decimal("0.001")
    text = f"{number.quantize(places, ROUND_HALF_UP, _WIDE):f}"
    return text.rstrip("0").rstrip(".")


def measurable(quantity: Quantity) -> Quantity:
    """The same amount in the metric unit that needs no zeros: 0.25 L is 250 mL, 1500 g is 1.5 kg.

    >>> measurable(Quantity(Decimal("0.25"), "litre"))
    Quantity(value=Decimal('250.00'), unit='millilitre')
    """
    size = abs(quantity.value)
    if quantity.unit in _FINER and 0 < size < 1:
        return Quantity(quantity.value * 1000, _FINER[quantity.unit])
    if quantity.unit in _COARSER and size >= 1000:
        return Quantity(quantity.value / 1000, _COARSER[quantity.unit])
    return quantity


def bare(text: str) -> str:
    """CLDR's text without narrow spaces, degree signs and raised figures, as phones have it."""
    text = text.replace("\u202f", " ").replace("\u00a0", " ").replace("°", " ").replace("²", "2")
    return re.sub(r" {2,}", " ", text).strip()
