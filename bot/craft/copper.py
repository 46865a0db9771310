"""Copper that a group logs from fungicides, by hectare, against the limit of a regulation.

Entries: `copper` with `kg_per_ha` of the metal and `on`. One ledger a group: what was put on
different land is added up, as if it had all been the same land; that is the careful reading.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from bot.craft.amounts import positive
from bot.craft.entries import Entry, Head
from bot.craft.nutrients import share_of_metal

SUBJECT = "copper"

LIMIT_KG_PER_HA = Decimal(28)
LIMIT_YEARS = 7
"""Source: Commission Implementing Regulation (EU) 2018/1981, OJ L 317, 14.12.2018, p. 16."""


@dataclass(frozen=True, slots=True)
class Load:
    """Copper on a day: kilograms of the metal a hectare."""

    on: date
    kg_per_ha: Decimal


@dataclass(frozen=True, slots=True)
class Ledger:
    """Everything the group logged, oldest first."""

    id: str
    loads: tuple[Load, ...] = ()


def fold(head: Head, entries: Sequence[Entry]) -> Ledger:
    """The ledger as its entries tell it."""
    loads = [
        Load(head.day_of(entry), kg)
        for entry in entries
        if (kg := entry.number("kg_per_ha")) is not None
    ]
    return Ledger(head.id, tuple(loads))


def load(on: date, kg: Decimal, area_m2: Decimal, salt: str = "") -> Load:
    """The metal a hectare of so much of a salt (empty: of the metal itself) on an area.

    Raises:
        AmountError: an amount or the area is zero or below.

    >>> load(date(2026, 3, 2), Decimal(1), Decimal(10_000)).kg_per_ha
    Decimal('1')
    """
    positive(kg=kg, area_m2=area_m2)
    share = share_of_metal(salt) if salt else Decimal(1)
    return Load(on, kg * share * 10_000 / area_m2)


def over_years(loads: Sequence[Load], today: date, years: int = LIMIT_YEARS) -> Decimal:
    """Kilograms a hectare in the years up to and with `today`; the day years ago is out."""
    since = _years_before(today, years)
    return sum((each.kg_per_ha for each in loads if since < each.on <= today), Decimal(0))


def left(loads: Sequence[Load], today: date) -> Decimal:
    """Kilograms a hectare still within the limit; 0 where it is reached.

    >>> left([Load(date(2026, 3, 2), Decimal(30))], date(2026, 3, 3))
    Decimal('0')
    """
    return max(Decimal(0), LIMIT_KG_PER_HA - over_years(loads, today))


def _years_before(day: date, years: int) -> date:
    try:
        return day.replace(year=day.year - years)
    except ValueError:
        return day.replace(year=day.year - years, day=28)
