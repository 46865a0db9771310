"""Which batch feeds which want: greedy, and for intervals of one shelf life that is a maximum flow.

Batches and wants are both intervals. Taking the latest batch first, and for it the want whose
window begins last, leaves the older batches what only they can serve (a convex bipartite graph).
The starter that a batch needs joins the same queue as a want of one day.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from heapq import heappop, heappush

from bot.craft.brew_case import Case

_NIL = 1e-9


@dataclass(slots=True)
class Flow:
    """Where the litres go.

    `made` is litres by start day (only what is used is brewed), `drawn` by running batch;
    `parts` are (start day, or -1 - index of a running batch; earliest, latest; litres), `kept`
    the same for starter: (from, start day, litres).
    """

    made: list[float]
    drawn: list[float]
    unmet: float = 0.0
    fresh: float = 0.0
    aged: float = 0.0
    late: float = 0.0
    parts: list[tuple[int, int, int, float]] = field(default_factory=list)
    kept: list[tuple[int, int, float]] = field(default_factory=list)
    short: list[tuple[int, int, float]] = field(default_factory=list)


def allocate(case: Case, litres: Sequence[float], *, starters_last: bool = False) -> Flow:
    """The flow that batches with so many litres of room a start day can give.

    With `starters_last` members come first and starters get what is left.
    """
    flow = Flow([0.0] * case.days, [0.0] * len(case.running))
    ready, share, shelf = case.ready, case.keep_share, case.shelf_days
    sources = [(ready[start], start, room) for start, room in enumerate(litres) if room > 0]
    sources.extend((run.ready, -1 - index, run.litres) for index, run in enumerate(case.running))
    sources.sort(reverse=True)
    wants, coming, total = case.by_latest, 0, len(case.by_latest)
    queue: list[list[float]] = []
    starters: list[tuple[int, float]] = []
    waiting = 0
    left: dict[int, float] = {}
    for usable, source, room_litres in sources:
        room = room_litres
        while coming < total and wants[coming].latest >= usable:
            want = wants[coming]
            heappush(
                queue,
                [
                    -want.earliest,
                    0,
                    want.litres,
                    want.latest,
                    want.latest if want.best is None else want.best,
                ],
            )
            coming += 1
        while waiting < len(starters) and starters[waiting][0] >= usable:
            day, need = starters[waiting]
            heappush(queue, [-day, 1, need, day])
            waiting += 1
        used = _pour(flow, queue, source, usable, usable + shelf, room)
        left[source] = room - used
        if source < 0:
            flow.drawn[-1 - source] = used
        else:
            flow.made[source] = used
            if used > 0 and share and not starters_last:
                starters.append((source, share * used))
    for first in queue:
        _lose(flow, int(-first[0]), int(first[3]), first[2], starter=first[1] == 1)
    for want in wants[coming:]:
        _lose(flow, want.earliest, want.latest, want.litres, starter=False)
    for day, need in starters[waiting:]:
        _lose(flow, day, day, need, starter=True)
    if starters_last:
        _starters(case, flow, sources, left)
    return flow


def _pour(
    flow: Flow, queue: list[list[float]], source: int, usable: int, until: int, room: float
) -> float:
    """Litres that one batch gives to those who wait, latest window first."""
    left = room
    while queue and left > _NIL:
        first = queue[0]
        earliest = -first[0]
        if earliest > until:  # no older batch reaches it either
            heappop(queue)
            _lose(flow, int(earliest), int(first[3]), first[2], starter=first[1] == 1)
            continue
        need = first[2]
        amount = min(left, need)
        left -= amount
        if earliest > usable:
            flow.aged += amount * (earliest - usable)
        if first[1]:
            flow.kept.append((source, int(earliest), amount))
        else:
            flow.parts.append((source, int(earliest), int(first[3]), amount))
            if usable > first[4]:
                flow.late += amount * (usable - first[4])
        if need - amount <= _NIL:
            heappop(queue)
        else:
            first[2] = need - amount
    return room - left


def _lose(flow: Flow, earliest: int, latest: int, litres: float, *, starter: bool) -> None:
    if starter:
        flow.fresh += litres
    else:
        flow.unmet += litres
        flow.short.append((earliest, latest, litres))


def _starters(
    case: Case, flow: Flow, sources: Sequence[tuple[int, int, float]], left: dict[int, float]
) -> None:
    """Starters out of what members left, latest start first."""
    for start in range(case.days - 1, -1, -1):
        need = case.keep_share * flow.made[start]
        for usable, source, _ in sources:
            if need <= _NIL:
                break
            if usable <= start <= usable + case.shelf_days and left[source] > _NIL:
                amount = min(need, left[source])
                left[source] -= amount
                need -= amount
                flow.aged += amount * (start - usable)
                flow.kept.append((source, start, amount))
                if source < 0:
                    flow.drawn[-1 - source] += amount
                else:
                    flow.made[source] += amount
        flow.fresh += need


def worth(case: Case, flow: Flow) -> float:
    """What a flow costs, fills and stirring not counted."""
    prices = case.prices
    return (
        prices.sugar * sum(flow.made)
        + prices.age_a_day * flow.aged
        + prices.late_a_day * flow.late
        + prices.fresh_starter * flow.fresh
        + prices.unmet * flow.unmet
    )


def cheapest(case: Case, litres: Sequence[float]) -> tuple[float, Flow]:
    """The cheapest of the orders there are, with its cost.

    Starters last only where wants go short; batches trimmed where culture in hand is left over.
    Culture is never brewed beyond what is used, so a batch may be less full than its barrel.
    """
    flow = allocate(case, litres)
    cost = worth(case, flow)
    tries: list[Flow] = []
    if flow.unmet > _NIL:
        tries.append(allocate(case, litres, starters_last=True))
    trimmed = _trimmed(case, flow)
    if trimmed:
        tries.append(allocate(case, trimmed))
    for other in tries:
        other_cost = worth(case, other)
        if other_cost < cost:
            cost, flow = other_cost, other
    return cost, flow


def _trimmed(case: Case, flow: Flow) -> list[float]:
    """The litres of room for batches that leave to culture in hand what it could give, too.

    A litre less in a batch frees its share of starter as well. Empty where nothing is left over.
    """
    left = [run.litres - drawn for run, drawn in zip(case.running, flow.drawn, strict=True)]
    if not any(litres > _NIL for litres in left):
        return []
    room = list(flow.made)
    for source, earliest, latest, amount in reversed(flow.parts):
        for index, run in enumerate(case.running):
            fits = latest >= run.ready and earliest <= run.ready + case.shelf_days
            if source >= 0 and fits and left[index] > _NIL:
                less = min(amount, room[source], left[index] / (1 - case.keep_share))
                room[source] -= less
                left[index] -= less * (1 - case.keep_share)
    return room
