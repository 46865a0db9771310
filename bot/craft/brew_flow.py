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
# Each trim leaves a tenth (the share kept back) of what the one before left over.
_TRIMS = 3


@dataclass(slots=True)
class Flow:
    """Where the litres go.

    A source is a start day, or -1 - index of a running batch. `made` is litres by start day (only
    what is used is brewed), `drawn` by running batch. `parts` are (source, index of the want,
    litres), `kept` is starter: (source, start day, litres), `short` (index of the want, litres).
    """

    made: list[float]
    drawn: list[float]
    unmet: float = 0.0
    fresh: float = 0.0
    aged: float = 0.0
    parts: list[tuple[int, int, float]] = field(default_factory=list)
    kept: list[tuple[int, int, float]] = field(default_factory=list)
    short: list[tuple[int, float]] = field(default_factory=list)

    def take(self, source: int, litres: float) -> None:
        """So much more out of one batch."""
        if source < 0:
            self.drawn[-1 - source] += litres
        else:
            self.made[source] += litres


Sources = Sequence[tuple[int, int, float]]


def allocate(case: Case, litres: Sequence[float], *, starters_last: bool = False) -> Flow:
    """The flow that batches with so many litres of room a start day can give.

    With `starters_last` members come first and starters get what is left.
    """
    flow = Flow([0.0] * case.days, [0.0] * len(case.running))
    ready, share, shelf = case.ready, case.keep_share, case.shelf_days
    sources = [(ready[start], start, room) for start, room in enumerate(litres) if room > 0]
    sources.extend((run.ready, -1 - index, run.litres) for index, run in enumerate(case.running))
    sources.sort(reverse=True)
    wants = case.by_latest
    coming, total = 0, len(wants)
    queue: list[list[float]] = []
    starters: list[tuple[int, float]] = []
    waiting = 0
    left: dict[int, float] = {}
    for usable, source, room in sources:
        while coming < total and wants[coming][0] >= usable:
            _, earliest, need, index = wants[coming]
            heappush(queue, [-earliest, 0, need, index])
            coming += 1
        while waiting < len(starters) and starters[waiting][0] >= usable:
            day, need = starters[waiting]
            heappush(queue, [-day, 1, need, day])
            waiting += 1
        used = _pour(flow, queue, source, usable, usable + shelf, room)
        left[source] = room - used
        flow.take(source, used)
        if used > 0 <= source and share and not starters_last:
            starters.append((source, share * used))
    for first in queue:
        _lose(flow, int(first[3]), first[2], starter=first[1] == 1)
    for _, _, need, index in wants[coming:]:
        _lose(flow, index, need, starter=False)
    flow.fresh += sum(need for _, need in starters[waiting:])
    if starters_last:
        # Few batches have anything left when culture is short: only those are asked again.
        sources = [each for each in sources if left[each[1]] > _NIL]
        for start in range(case.days - 1, -1, -1):
            _starter(case, flow, sources, left, start)
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
            _lose(flow, int(first[3]), first[2], starter=first[1] == 1)
            continue
        need = first[2]
        amount = min(left, need)
        left -= amount
        if earliest > usable:
            flow.aged += amount * (earliest - usable)
        if first[1]:
            flow.kept.append((source, int(first[3]), amount))
        else:
            flow.parts.append((source, int(first[3]), amount))
        if need - amount <= _NIL:
            heappop(queue)
        else:
            first[2] = need - amount
    return room - left


def _lose(flow: Flow, index: int, litres: float, *, starter: bool) -> None:
    if starter:
        flow.fresh += litres
    else:
        flow.unmet += litres
        flow.short.append((index, litres))


def _starter(case: Case, flow: Flow, sources: Sources, left: dict[int, float], start: int) -> None:
    """The starter of one start out of what is left, else fresh.

    From the freshest; with culture in hand from the oldest, which wants can use the least.
    """
    need = case.keep_share * flow.made[start]
    for usable, source, _ in reversed(sources) if case.running else sources:
        fits = usable <= start <= usable + case.shelf_days
        amount = min(need, left[source]) if fits else 0.0
        if amount > _NIL:
            need -= amount
            left[source] -= amount
            flow.take(source, amount)
            flow.kept.append((source, start, amount))
            flow.aged += amount * (start - usable)
    flow.fresh += need


def worth(case: Case, flow: Flow) -> float:
    """What a flow costs, fills and stirring not counted."""
    prices = case.prices
    return (
        prices.sugar * sum(flow.made)
        + prices.age_a_day * flow.aged
        + prices.fresh_starter * flow.fresh
        + prices.unmet * flow.unmet
    )


def cheapest(case: Case, litres: Sequence[float], *, thrifty: bool = True) -> tuple[float, Flow]:
    """The cheaper of the two orders, with its cost.

    Starters last is tried where wants go short, or if `thrifty` where culture in hand might serve
    wants better than starters; batches are then made smaller as long as it can stand in for them.
    Culture is never brewed beyond what is used: a batch may be less full than its barrel.
    """
    trims = _TRIMS if thrifty and case.running else 0
    cost, flow = _in_order(case, litres, trims, starters_last=False)
    if trims or flow.unmet > _NIL:
        other_cost, other = _in_order(case, litres, trims, starters_last=True)
        if other_cost < cost:
            return other_cost, other
    return cost, flow


def _in_order(
    case: Case, litres: Sequence[float], trims: int, *, starters_last: bool
) -> tuple[float, Flow]:
    flow = allocate(case, litres, starters_last=starters_last)
    cost = worth(case, flow)
    for _ in range(trims):
        other = allocate(case, _trimmed(case, flow), starters_last=starters_last)
        other_cost = worth(case, other)
        if other_cost >= cost:
            break
        cost, flow = other_cost, other
    return cost, flow


def _trimmed(case: Case, flow: Flow) -> list[float]:
    """The litres of room for batches that leave to culture in hand what it could give, too.

    A litre less in a batch often frees its share of starter as well, so this is done again.
    The oldest batches are trimmed first.
    """
    left = [run.litres - drawn for run, drawn in zip(case.running, flow.drawn, strict=True)]
    room = list(flow.made)
    for source, wanted, amount in sorted(flow.parts):
        want = case.wants[wanted]
        for index, run in enumerate(case.running):
            fits = want.latest >= run.ready and want.earliest <= run.ready + case.shelf_days
            if source >= 0 and fits:
                less = min(amount, room[source], left[index])
                room[source] -= less
                left[index] -= less
    return room
