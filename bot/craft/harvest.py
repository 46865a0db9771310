"""The harvest guard: which days a round may be done on before a harvest or between pickings."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from bot.craft.entries import Entry

# Days between the last round and a harvest where nobody said otherwise.
# Source: common practice, no source; rules for parts eaten raw are longer (see the cautions).
STOP_DAYS = 7


@dataclass(frozen=True, slots=True)
class Harvest:
    """When a crop is taken, and how many days before that rounds stop.

    `harvest_on` is the one harvest, or the end of the picking. A crop picked for weeks has
    `first_on` and, where it is picked now and then, `every_days`; without it picking is taken as
    daily. What is not known is None.
    """

    harvest_on: date | None = None
    first_on: date | None = None
    every_days: int | None = None
    stop_days: int = STOP_DAYS

    @property
    def last_round_on(self) -> date | None:
        """The last day a round can be done on (inclusive); None while no end is known.

        >>> Harvest(date(2026, 5, 20), stop_days=10).last_round_on
        datetime.date(2026, 5, 10)
        """
        ends = [] if self.harvest_on is None else [self.harvest_on]
        if self.first_on is not None and (self.every_days or 1) <= self.stop_days:
            # Pickings come closer than the stop allows: nothing fits between them.
            ends.append(self.first_on)
        return min(ends) - timedelta(days=self.stop_days) if ends else None

    def is_open(self, day: date) -> bool:
        """Whether no harvest or picking follows within the stop (the day itself counts).

        >>> picked = Harvest(first_on=date(2026, 6, 1), every_days=10, stop_days=7)
        >>> picked.is_open(date(2026, 6, 4)), picked.is_open(date(2026, 6, 5))
        (True, False)
        """
        last = self.last_round_on
        if last is not None and day > last:
            return False
        if self.first_on is None:
            return True
        until = (self.first_on - day).days
        if until < 0:
            until %= self.every_days or 1
        return until >= self.stop_days


def told(before: Harvest, entry: Entry) -> Harvest:
    """The guard with what an entry names changed.

    Keys: harvest_on, first_pick_on, pick_every_days, stop_days.
    """
    stop_days = entry.whole("stop_days")
    return Harvest(
        entry.day("harvest_on") or before.harvest_on,
        entry.day("first_pick_on") or before.first_on,
        entry.whole("pick_every_days") or before.every_days,
        before.stop_days if stop_days is None else stop_days,
    )
