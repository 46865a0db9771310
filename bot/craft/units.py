"""Quantities with a canonical unit. The only room that knows pint."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Any

import pint


@dataclass(frozen=True, slots=True)
class Quantity:
    """An exact amount in one canonical unit, as `Quantity(Decimal(16), "litre")`.

    `unit` is a canonical name (singular, lower case: litre, millilitre, kilogram, acre,
    degree_celsius, percent), never a member's spelling of it.
    """

    value: Decimal
    unit: str

    def to(self, unit: str) -> Quantity:
        """The same amount in another unit.

        Raises:
            UnitError: the two do not measure the same thing, or a name is unknown.

        >>> Quantity(Decimal("1.5"), "litre").to("millilitre").value
        Decimal('1500.0')
        """
        return Quantity(self.value * factor(self.unit, unit), unit)


class UnitError(ValueError):
    """Two units do not measure the same thing, or a name is unknown."""


@lru_cache(maxsize=1)
def _registry() -> Any:
    registry: Any = pint.UnitRegistry(non_int_type=Decimal)
    # pint's acre is the US survey acre; growers mean the international one.
    # Source: NIST SP 811 (43 560 square feet of 0.3048 m), computed.
    registry.define("acre = 4046.8564224 * meter ** 2")
    return registry


@lru_cache(maxsize=1024)
def factor(unit: str, other: str) -> Decimal:
    """How many of `other` one `unit` is; for units without an offset.

    Raises:
        UnitError: the two do not measure the same thing, or a name is unknown.

    >>> factor("hectare", "square_metre") == 10000
    True
    """
    if unit == other:
        return Decimal(1)
    registry = _registry()
    try:
        return Decimal(registry.Quantity(Decimal(1), unit).to(other).magnitude)
    except (pint.UndefinedUnitError, pint.DimensionalityError, AttributeError) as fault:
        raise UnitError(f"{unit} is not measured in {other}") from fault
