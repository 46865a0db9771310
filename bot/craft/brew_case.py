"""The brewing question as plain numbers: barrels, what is wanted when, and what it costs.

Days are counted from today (0); litres are fungible, so members drop out: rounds with the same
window are one want. Money is any unit; only the proportions matter.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property


@dataclass(frozen=True, slots=True)
class Size:
    """Barrels of one size. `free_from` has a day for each: before it, that barrel is in use."""

    litres: float
    fill_cost: float
    free_from: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Want:
    """Litres wanted on some day from `earliest` to `latest` (both inclusive)."""

    earliest: int
    latest: int
    litres: float


@dataclass(frozen=True, slots=True)
class Running:
    """Culture that is already on its way or in hand: usable from `ready` for the shelf life."""

    ready: int
    litres: float


@dataclass(frozen=True, slots=True)
class Prices:
    """What a plan is weighed by, a litre unless said otherwise.

    Source: common practice, no source; a litre that is missing outweighs all else.
    """

    stir_a_day: float = 0.10
    sugar: float = 0.04
    fresh_starter: float = 0.50
    age_a_day: float = 0.002
    unmet: float = 2.0
    over_held_a_day: float = 0.10


# A want as plain numbers for the inner loop: latest, earliest, litres, place in `wants`.
Ranked = tuple[int, int, float, int]


@dataclass(frozen=True)
class Case:
    """One brewing question.

    A batch started on day s is usable from s + `ready_days[s]` and keeps `shelf_days` from then;
    its barrel is taken for `busy_days[s]` days. Plan with a cautious `ready_days` (the 80 % point)
    and the median for `busy_days`: a late batch then costs nothing, and no barrel stands idle.
    `keep_share` of every batch is live culture on the day it starts, kept back from another or
    fresh. `held_litres` is the room in cans once a barrel is needed again (None: no limit),
    `fill_litres` the water there is for filling on each day.

    Raises:
        ValueError: the two lists of days are not as long as the plan.
    """

    days: int
    ready_days: tuple[int, ...]
    busy_days: tuple[int, ...]
    shelf_days: int
    keep_share: float
    sizes: tuple[Size, ...]
    wants: tuple[Want, ...]
    running: tuple[Running, ...] = ()
    prices: Prices = field(default_factory=Prices)
    held_litres: float | None = None
    fill_litres: tuple[float, ...] | None = None

    def __post_init__(self) -> None:
        if not len(self.ready_days) == len(self.busy_days) == self.days:
            raise ValueError("every day of the plan needs its days to ready and its days in use")

    @cached_property
    def ready(self) -> tuple[int, ...]:
        """The day on which a batch of each day is ready; a later start is never ready sooner."""
        ready: list[int] = []
        for start, days in enumerate(self.ready_days):
            ready.append(max(start + days, ready[-1] if ready else 0))
        return tuple(ready)

    @cached_property
    def by_latest(self) -> tuple[Ranked, ...]:
        """The wants, latest end first."""
        ranked = (
            (want.latest, want.earliest, want.litres, index)
            for index, want in enumerate(self.wants)
        )
        return tuple(sorted(ranked, key=lambda each: (-each[0], -each[1])))

    @cached_property
    def last(self) -> int:
        """The last day on which anything is wanted."""
        return max((want.latest for want in self.wants), default=-1)


def merged(wants: Iterable[Want]) -> tuple[Want, ...]:
    """Wants of the same window as one, in order of their windows.

    >>> merged([Want(1, 3, 5.0), Want(1, 3, 2.0)])
    (Want(earliest=1, latest=3, litres=7.0),)
    """
    sums: dict[tuple[int, int], float] = {}
    for want in wants:
        window = want.earliest, want.latest
        sums[window] = sums.get(window, 0.0) + want.litres
    return tuple(Want(*window, litres) for window, litres in sorted(sums.items()))
