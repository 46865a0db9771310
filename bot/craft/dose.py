"""What one round takes, and the custom around it: gaps between rounds, rain after one."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal


@dataclass(frozen=True, slots=True)
class Dose:
    """What one round takes. `mix_ml` is culture and water together, over all tanks."""

    use: str = ""
    recipe: str = ""
    culture_parts: Decimal = Decimal(1)
    water_parts: Decimal = Decimal(0)
    mix_ml: int = 0
    tank_ml: int | None = None
    area_m2: Decimal | None = None
    plants: int | None = None

    @property
    def culture_ml(self) -> int:
        """The culture in the mix, rounded up to a millilitre so that it is never short.

        >>> Dose(culture_parts=Decimal(1), water_parts=Decimal(3), mix_ml=32_000).culture_ml
        8000
        """
        parts = self.culture_parts + self.water_parts
        share = Decimal(self.mix_ml) * self.culture_parts / parts
        return int(share.to_integral_value(ROUND_CEILING))

    @property
    def water_ml(self) -> int:
        """The water in the mix: what culture leaves of it."""
        return self.mix_ml - self.culture_ml


def shortest_gap(interval_days: int, use: str) -> int:
    """The days two rounds keep between them where nobody named a shortest gap, rounded down.

    Seven tenths of the interval; a soil round of a fortnight or more keeps 15 days.
    Source: common practice, no source (10 days and 7; soil every 15 days up to once a month).

    >>> shortest_gap(10, "leaf"), shortest_gap(30, "soil"), shortest_gap(1, "leaf")
    (7, 15, 1)
    """
    if use == "soil" and interval_days >= 15:
        return 15
    return max(1, interval_days * 7 // 10)


def taken_off(use: str, rain_mm: float, hours_after: float, *, leaf_mm: float = 5.0) -> bool:
    """Whether rain undid a round: on leaves a shower within 6 hours, in soil only a flood (50 mm).

    Source: common practice, no source: no published threshold is known for these cultures, so
    `leaf_mm` is a group's own setting.

    >>> taken_off("leaf", 8.0, 2.0), taken_off("leaf", 8.0, 20.0), taken_off("soil", 8.0, 2.0)
    (True, False, False)
    """
    if use == "leaf":
        return hours_after <= 6 and rain_mm >= leaf_mm
    return rain_mm >= 50
