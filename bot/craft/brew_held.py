"""Culture in cans: what is left of a batch when its barrel is needed for the next one.

Culture stays in its barrel as long as that is free; only what is left when the next batch goes
in must be drawn off into cans, and a group has only so many.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import accumulate
from math import inf

from bot.craft.brew_case import Case
from bot.craft.brew_flow import Flow
from bot.craft.brew_rows import Barrel, Row


def held(
    case: Case, barrels: Sequence[Barrel], rows: Sequence[Row], flow: Flow
) -> tuple[float, ...]:
    """Litres in cans on each day of the plan, if each want is met as early as its batch allows."""
    restarts: dict[int, list[tuple[int, float]]] = {}
    for barrel, row in zip(barrels, rows, strict=True):
        for start, again in zip(row, (*row[1:], case.days), strict=False):
            restarts.setdefault(start, []).append((again, case.sizes[barrel.size].litres))
    change = [0.0] * (case.days + 1)
    for start, uses in _uses(case, flow).items():
        for again, day, litres in _from_barrels(sorted(restarts[start]), sorted(uses)):
            if again < day:
                change[again] += litres
                change[min(day, case.days)] -= litres
    return tuple(accumulate(change[: case.days]))


def _uses(case: Case, flow: Flow) -> dict[int, list[tuple[int, float]]]:
    """For each start day the days on which its culture is drawn, and how much."""
    uses: dict[int, list[tuple[int, float]]] = {}
    for source, index, litres in flow.parts:
        if source >= 0:
            drawn_on = max(case.wants[index].earliest, case.ready[source])
            uses.setdefault(source, []).append((drawn_on, litres))
    for source, start, litres in flow.kept:
        if source >= 0:
            uses.setdefault(source, []).append((start, litres))
    return uses


def _from_barrels(
    barrels: Sequence[tuple[int, float]], uses: Sequence[tuple[int, float]]
) -> Iterator[tuple[int, int, float]]:
    """What each barrel gives to each use: the one that is needed first gives first.

    Barrels are (day it is filled again, litres), uses (day, litres), both in order of days.
    """
    tubs = iter(barrels)
    again, room = next(tubs)
    for day, litres in uses:
        left = litres
        while left > room + 1e-6:
            yield again, day, room
            left -= room
            again, room = next(tubs, (again, inf))
        yield again, day, left
        room -= left


def over_held(case: Case, barrels: Sequence[Barrel], rows: Sequence[Row], flow: Flow) -> float:
    """What the litres beyond the room in cans cost, day by day."""
    most = case.held_litres or 0.0
    over = sum(max(0.0, litres - most) for litres in held(case, barrels, rows, flow))
    return case.prices.over_held_a_day * over
