"""What a compost mix comes to: its moisture and C:N, how much of one to add to another.

Feedstock figures are ranges: the sources disagree, and so does every load. Shown as ranges or
rounded, never as a decimal.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Literal

from bot.craft.amounts import AmountError, positive

GOLUEKE = "Golueke 1972 in Polprasert, Organic Waste Recycling, Table 3.1"
NRAES = "NRAES-54 (1992) App. A, typical values"
QUOTED = "NRAES-54 (1992) App. A, as quoted by compostmagazine.com"

CN_IDEAL = (25, 40)
CN_ACCEPTABLE = (20, 60)
"""Source: The Composting Handbook, Table 4.2 (seen)."""

MOISTURE_IDEAL = (50, 60)
MOISTURE_ACCEPTABLE = (40, 65)
"""Percent of the wet weight. Source: The Composting Handbook, Table 4.2 (seen)."""


@dataclass(frozen=True, slots=True)
class Figures:
    """One source's figures: N in percent of dry matter, C:N, moisture percent; None: not given."""

    n_percent: Decimal | None
    cn: Decimal | None
    moisture: Decimal | None
    source: str
    mark: str


def _row(
    n: str, cn: str, moisture: str, source: str = NRAES, mark: str = "from memory"
) -> tuple[Figures, ...]:
    """One row a figure: ranges are given by their ends."""
    ends = [[Decimal(end) for end in text.split("-")] if text else [None] for text in (n, cn)]
    wet = Decimal(moisture) if moisture else None
    low = Figures(ends[0][0], ends[1][0], wet, source, mark)
    high = Figures(ends[0][-1], ends[1][-1], wet, source, mark)
    return (low,) if low == high else (low, high)


def _seen(n: str, cn: str) -> tuple[Figures, ...]:
    return _row(n, cn, "", GOLUEKE, "seen")


def _quoted(cn: str) -> tuple[Figures, ...]:
    return _row("", cn, "", QUOTED, "quoted")


FEEDSTOCKS: Mapping[str, tuple[Figures, ...]] = MappingProxyType(
    {
        "cow_manure": (*_row("2.4", "19", "81"), *_seen("1.7", "18")),
        "poultry_manure": (*_row("8.0", "6", "69"), *_seen("6.3", "15")),
        "sheep_manure": (*_row("2.7", "16", "69"), *_seen("3.8", "")),
        "pig_manure": (*_row("3.1", "14", "80"), *_seen("3.8", "")),
        "horse_manure": (*_row("1.6", "30", "72"), *_seen("2.3", "25")),
        "wheat_straw": (*_row("0.7", "80", "12"), *_seen("0.3-0.5", "128-150"), *_quoted("48-150")),
        "oat_straw": (*_row("0.7", "80", "12"), *_seen("1.1", "48")),
        "grass": (*_row("3.4", "17", "82"), *_seen("3-6", "12-15"), *_quoted("9-25")),
        "leaves": _row("0.9", "54", "38"),
        "sawdust": (*_row("0.24", "442", "39"), *_seen("0.1", "200-500")),
        "maize_stalks": _row("0.7", "60-73", "12"),
        "rice_hulls": _row("0.3", "121", "14"),
        "hay": (*_row("2.1", "15-32", "10"), *_quoted("15-19")),
        "kitchen_waste": (*_row("2.7", "19", "87"), *_seen("2.5-4", "11-12"), *_quoted("11-13")),
        "coffee_grounds": (*_row("2.1", "20", "60"), *_quoted("20")),
        "water_hyacinth": _row("1.5", "20-30", "93"),
    }
)
"""Moisture and the first row are what is reckoned with; the others widen the range that is said.
Coffee grounds' and water hyacinth's N, and coffee grounds' moisture, are from memory alone."""


@dataclass(frozen=True, slots=True)
class Material:
    """So much of one thing in a mix: wet kilograms, percents as of `Figures`."""

    kg: Decimal
    n_percent: Decimal
    c_percent: Decimal
    moisture: Decimal


def material(
    name: str, kg: Decimal, *, which: Literal["typical", "low", "high"] = "typical"
) -> Material:
    """A feedstock with the figures to reckon with, or with the end of its range.

    Raises:
        AmountError: the amount is zero or below.
        KeyError: no figures are known for that name.
    """
    positive(kg=kg)
    rows = FEEDSTOCKS[name]
    first = rows[0]
    ratios = sorted(row.cn for row in rows if row.cn is not None)
    cn = {"typical": first.cn or ratios[0], "low": ratios[0], "high": ratios[-1]}[which]
    n = first.n_percent or Decimal(1)
    return Material(kg, n, n * cn, first.moisture or Decimal(0))


def moisture(mix: Sequence[Material]) -> Decimal:
    """Percent of water in the wet weight of a mix.

    Source: Cornell Waste Management Institute, compost calculations, 1996: G = sum QM / sum Q.

    >>> moisture([Material(Decimal(2), Decimal(1), Decimal(30), Decimal(80)),
    ...     Material(Decimal(1), Decimal(1), Decimal(30), Decimal(20))])
    Decimal('60')
    """
    return _sum(each.kg * each.moisture for each in mix) / _sum(each.kg for each in mix)


def cn(mix: Sequence[Material]) -> Decimal:
    """Carbon to one of nitrogen in a mix, weighted by dry matter; ratios are never averaged.

    Source: Cornell, 1996: R = sum Q C (100-M) / sum Q N (100-M).
    """
    carbon = _sum(each.kg * each.c_percent * (100 - each.moisture) for each in mix)
    return carbon / _sum(each.kg * each.n_percent * (100 - each.moisture) for each in mix)


def add_for_moisture(one: Material, other: Material, goal: Decimal) -> Decimal | None:
    """Kilograms of `other` that bring `one` to a moisture; None where it cannot.

    Source: Cornell, 1996: Q2 = (Q1 G - Q1 M1) / (M2 - G).
    """
    if other.moisture == goal:
        return None
    kg = one.kg * (goal - one.moisture) / (other.moisture - goal)
    return kg if kg >= 0 else None


def add_for_cn(one: Material, other: Material, goal: Decimal) -> Decimal | None:
    """Kilograms of `other` that bring `one` to a C:N; None where it cannot.

    Source: Cornell, 1996: Q2 = Q1 N1 (R - C1/N1) (100-M1) / [N2 (C2/N2 - R) (100-M2)].
    """
    lower = (other.c_percent - other.n_percent * goal) * (100 - other.moisture)
    if not lower:
        return None
    upper = one.kg * (one.n_percent * goal - one.c_percent) * (100 - one.moisture)
    kg = upper / lower
    return kg if kg >= 0 else None


def together(mix: Sequence[Material]) -> Material:
    """A whole mix as one material, so that another can be added to it."""
    wet = moisture(mix)
    kg = _sum(each.kg for each in mix)
    dry = kg * (100 - wet)
    carbon = _sum(each.kg * each.c_percent * (100 - each.moisture) for each in mix)
    nitrogen = _sum(each.kg * each.n_percent * (100 - each.moisture) for each in mix)
    return Material(kg, nitrogen / dry, carbon / dry, wet)


Verdict = Literal["good", "too_wet", "too_dry", "too_green", "too_brown"]


def verdict(mix: Sequence[Material]) -> Verdict:
    """What a mix wants first: moisture decides where it and C:N conflict."""
    wet, ratio = moisture(mix), cn(mix)
    if wet > MOISTURE_ACCEPTABLE[1]:
        return "too_wet"
    if wet < MOISTURE_ACCEPTABLE[0]:
        return "too_dry"
    if ratio < CN_ACCEPTABLE[0]:
        return "too_green"
    return "too_brown" if ratio > CN_ACCEPTABLE[1] else "good"


def water_for(mix: Sequence[Material], goal: Decimal = Decimal(55)) -> Decimal:
    """Litres of water that bring a dry mix to a moisture; 0 where it is as wet already.

    >>> round(water_for([Material(Decimal(10), Decimal(1), Decimal(80), Decimal(12))]), 1)
    Decimal('9.6')
    """
    weight = _sum(each.kg for each in mix)
    return max(Decimal(0), weight * (goal - moisture(mix)) / (100 - goal))


def carbon_from_ash(ash_percent: Decimal) -> Decimal:
    """Percent of carbon in dry matter from its ash, within 2 to 10 %.

    Raises:
        AmountError: the ash is below zero or over a hundred percent.

    Source: Gotaas 1956, in Polprasert, Organic Waste Recycling, eq. 3.6.
    """
    if not 0 <= ash_percent <= 100:
        raise AmountError("ash_percent", "too_large" if ash_percent > 0 else "negative")
    return (100 - ash_percent) / Decimal("1.8")


def _sum(values: Iterable[Decimal]) -> Decimal:
    return sum(values, Decimal(0))
