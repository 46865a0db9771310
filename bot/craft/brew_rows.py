"""Barrels and the days they are started on, kept apart so that no two batches share one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bot.craft.brew_case import Case

Row = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Barrel:
    """One barrel: which size it is, and the day from which it is free."""

    size: int
    free_from: int


def barrels_of(case: Case) -> tuple[Barrel, ...]:
    """Every barrel of a case, size by size."""
    return tuple(
        Barrel(index, free_from)
        for index, size in enumerate(case.sizes)
        for free_from in size.free_from
    )


def placed(case: Case, free_from: int, row: Row, start: int) -> Row:
    """A barrel's row with one more start: its neighbours are pushed apart, out of the plan if need.

    Returns the row as it was where the barrel is not free that day.
    """
    busy = case.busy_days
    if not free_from <= start < case.days:
        return row
    before: list[int] = []
    limit = start
    for other in reversed([each for each in row if each < start]):
        day = other
        while day >= free_from and day + busy[day] > limit:
            day -= 1
        if day < free_from:
            break
        before.append(day)
        limit = day
    after: list[int] = []
    limit = start + busy[start]
    for other in [each for each in row if each >= start]:
        day = max(other, limit)
        if day >= case.days:
            break
        after.append(day)
        limit = day + busy[day]
    return (*before[::-1], start, *after)


def dense(case: Case, barrels: Sequence[Barrel]) -> list[Row]:
    """Every barrel starts again as soon as it is free: the right beginning when they are short.

    Barrels of a size begin staggered, so that something is ready every few days.
    """
    rows: list[Row] = []
    place: dict[int, int] = {}
    for barrel in barrels:
        index = place.get(barrel.size, 0)
        place[barrel.size] = index + 1
        step = index * case.busy_days[0] // len(case.sizes[barrel.size].free_from)
        row: list[int] = []
        start = max(barrel.free_from, step)
        while start < case.days and case.ready[start] <= case.last:
            row.append(start)
            start += case.busy_days[start]
        rows.append(tuple(row))
    return rows


def backward(case: Case, barrels: Sequence[Barrel]) -> list[Row]:
    """Latest want first, each batch started so that it also fills up with what is wanted earlier.

    Good with barrels to spare; 30-47 % over the optimum when they are short, so never alone.
    """
    rows: list[list[int]] = [[] for _ in barrels]
    left = {(want.earliest, want.latest): want.litres for want in case.wants}
    windows = sorted(left, key=lambda window: (-window[1], -window[0]))
    for window in windows:
        while left[window] > 1e-9:
            choice = _cheapest_start(case, barrels, rows, left, window)
            if choice is None:
                break
            start, index = choice
            rows[index].append(start)
            room = case.sizes[barrels[index].size].litres * (1 - case.keep_share)
            usable = case.ready[start]
            # The want that called for the batch is served first, then the others, latest first.
            for other in (window, *windows):
                if room > 0 and other[1] >= usable and other[0] <= usable + case.shelf_days:
                    amount = min(room, left[other])
                    room -= amount
                    left[other] -= amount
    return [tuple(sorted(row)) for row in rows]


def _cheapest_start(
    case: Case,
    barrels: Sequence[Barrel],
    rows: Sequence[Sequence[int]],
    left: dict[tuple[int, int], float],
    window: tuple[int, int],
) -> tuple[int, int] | None:
    """The day and barrel that serve a window at the least cost a litre; None where none is free."""
    earliest, latest = window
    best: tuple[float, int, int] | None = None
    for start in range(case.days - 1, -1, -1):
        usable = case.ready[start]
        if usable > latest:
            continue
        until = usable + case.shelf_days
        if until < earliest:
            break
        wanted = -1.0
        tried: set[int] = set()
        for index, barrel in enumerate(barrels):
            if barrel.size in tried or not _free(case, barrel, rows[index], start):
                continue
            tried.add(barrel.size)
            if wanted < 0:
                wanted = sum(
                    litres
                    for (first, last), litres in left.items()
                    if last >= usable and first <= until
                )
            size = case.sizes[barrel.size]
            got = min(size.litres * (1 - case.keep_share), wanted)
            cost = (size.fill_cost + case.prices.stir_a_day * case.ready_days[start]) / got
            cost += case.prices.age_a_day * max(earliest - usable, 0) / 2
            if best is None or cost < best[0] - 1e-12:
                best = cost, start, index
    return None if best is None else best[1:]


def _free(case: Case, barrel: Barrel, row: Sequence[int], start: int) -> bool:
    end = start + case.busy_days[start]
    return barrel.free_from <= start and all(
        other >= end or other + case.busy_days[other] <= start for other in row
    )
