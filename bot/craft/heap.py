"""A compost heap as its entries tell it: turnings, temperatures, and whether it counts as raw.

Entries: `heap` (built; `vessel`), `heap_turned`, `heap_temperature` (`celsius`), each with `on`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Literal

from bot.craft.entries import Entry, Head

SUBJECT = "heap"

HOT_FROM_C, HOT_UNTIL_C = Decimal(55), Decimal("76.7")
VESSEL_DAYS = 3
WINDROW_DAYS, WINDROW_TURNINGS = 15, 5
"""Source: 7 CFR 205.203(c)(2)(ii-iii): 131 to 170 F for 3 days in a vessel or static aerated pile;
15 days in a windrow, turned at least five times in that period."""

Status = Literal["raw", "under_way", "logged"]


@dataclass(frozen=True, slots=True)
class Heap:
    """One heap. `readings` are the highest temperature logged on each day, oldest first."""

    id: str
    code: str
    built_on: date
    vessel: bool = False
    turned_on: tuple[date, ...] = ()
    readings: tuple[tuple[date, Decimal], ...] = ()

    @property
    def hot_days(self) -> tuple[date, ...]:
        """The longest run of days one after another that were logged in the range."""
        best: list[date] = []
        run: list[date] = []
        for day, celsius in self.readings:
            if not HOT_FROM_C <= celsius <= HOT_UNTIL_C:
                run = []
            elif run and day - run[-1] != timedelta(days=1):
                run = [day]
            else:
                run = [*run, day]
            if len(run) > len(best):
                best = run
        return tuple(best)

    @property
    def turnings_while_hot(self) -> int:
        """How often it was turned in that run, its first and last day included."""
        days = self.hot_days
        return sum(1 for day in self.turned_on if days and days[0] <= day <= days[-1])

    @property
    def status(self) -> Status:
        """`logged` where the rule's days were logged; `raw` while no hot day was.

        A heap that never logged them counts as raw manure, whatever its age.
        """
        hot = len(self.hot_days)
        enough = VESSEL_DAYS if self.vessel else WINDROW_DAYS
        turned = self.vessel or self.turnings_while_hot >= WINDROW_TURNINGS
        if hot >= enough and turned:
            return "logged"
        return "under_way" if hot else "raw"


def fold(head: Head, entries: Sequence[Entry]) -> Heap:
    """The heap as its entries tell it."""
    built_on, vessel = head.opened_at.date(), False
    turned: set[date] = set()
    readings: dict[date, Decimal] = {}
    for entry in entries:
        day = head.day_of(entry)
        celsius = entry.number("celsius")
        if entry.kind == "heap":
            built_on, vessel = day, bool(entry.data.get("vessel"))
        elif entry.kind == "heap_turned":
            turned.add(day)
        elif entry.kind == "heap_temperature" and celsius is not None:
            readings[day] = max(celsius, readings.get(day, celsius))
    return Heap(
        head.id, head.code, built_on, vessel, tuple(sorted(turned)), tuple(sorted(readings.items()))
    )
