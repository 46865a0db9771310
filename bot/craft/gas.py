"""Carbon dioxide from a fermenting barrel: how much, and what it does to the air of a room.

An upper bound: all sugar turned to alcohol and gas, none left dissolved.
"""

from __future__ import annotations

from decimal import Decimal

CO2_KG_PER_KG_SUCROSE = Decimal("0.5143")
"""Source: formula masses, C12H22O11 + H2O -> 4 CO2 (176.04/342.30); computed."""

LIMIT_PPM = 5000
"""Eight hours at work. Source: NIOSH pel88 124-38 (OSHA)."""

SHORT_LIMIT_PPM = 30_000
"""Fifteen minutes. Source: NIOSH pel88 124-38 (ACGIH/NIOSH)."""

_CO2_G_PER_MOL = Decimal("44.0095")
_GAS_L_KPA = Decimal("8.314462618")
"""Source: CODATA molar gas constant, J/(mol K) = L kPa/(mol K)."""


def co2_litres(
    sucrose_g: Decimal, celsius: Decimal = Decimal(25), kpa: Decimal = Decimal("101.325")
) -> Decimal:
    """Litres of gas that so much cane sugar gives off at most.

    >>> round(co2_litres(Decimal(1000)))
    286
    """
    moles = sucrose_g * CO2_KG_PER_KG_SUCROSE / _CO2_G_PER_MOL
    return moles * _GAS_L_KPA * (celsius + Decimal("273.15")) / kpa


def added_ppm(sucrose_g: Decimal, room_m3: Decimal) -> Decimal:
    """Parts per million that it adds to the air of a closed room.

    Raises:
        ValueError: the room has no volume.

    >>> added_ppm(Decimal(1000), Decimal(20)) > 2 * LIMIT_PPM
    True
    """
    if room_m3 <= 0:
        raise ValueError("a room has a volume")
    return co2_litres(sucrose_g) / room_m3 * 1000
