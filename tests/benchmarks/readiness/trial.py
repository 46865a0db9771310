"""Seasons played through with each method, and what became of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from tests.benchmarks.readiness.methods import Method
from tests.benchmarks.readiness.worlds import Batch, season


@dataclass(frozen=True)
class Told:
    """What one batch cost and how well it was foreseen."""

    number: int
    score_days: float
    covered: bool
    in_vain: int
    asked: int
    late_days: float
    width_days: float


def play(method: Method, world: str, seed: int) -> list[Told]:
    """One season with one method, which starts knowing nothing."""
    return [follow(method, batch) for batch in season(world, seed)]


def follow(method: Method, batch: Batch) -> Told:
    """One batch: asked, answered seven times in ten, wrongly three times in a hundred.

    A question left without answer is asked again the next day. A method with `volunteers` hears
    of a ready batch unasked, with that chance a day that nobody asks. One that asks since when,
    where its first look comes late, is told the day with the chance `dated`.
    """
    method.say(batch)
    low, high = method.interval()
    not_yet = in_vain = asked = tried = 0
    ready = told_on = math.inf
    next_ask = method.ask(0)
    for day in range(1, 80):
        if tried >= 40:
            break
        if day < next_ask:
            if day >= batch.ready_days and batch.volunteers[day % 60] < method.volunteers:
                ready = told_on = day
                break
            continue
        asked += 1
        answered, wrong = batch.talks[tried], batch.errs[tried]
        tried += 1
        if not answered:
            next_ask = day + 1
            continue
        if (batch.ready_days <= day) != wrong:
            ready = told_on = day
            if not wrong and not_yet == 0 and method.dated and method.late():
                told_on = _since(batch, day, method.dated)
            break
        in_vain += 1
        not_yet = day
        next_ask = max(day + 1, method.ask(day))
    method.hear(batch, not_yet, told_on)
    return Told(
        number=batch.number,
        score_days=method.score(batch.ready_days),
        covered=low <= batch.ready_days <= high,
        in_vain=in_vain,
        asked=asked,
        late_days=max((ready if ready < math.inf else 40) - batch.ready_days, 0),
        width_days=high - low,
    )


def _since(batch: Batch, asked_on: int, dated: float) -> int:
    """The day told since when it has been ready: the whole day after it turned, if told at all."""
    if batch.volunteers[asked_on % 60] >= dated:
        return asked_on
    return min(math.ceil(batch.ready_days), asked_on)


def summary(told: Sequence[Told], since: int = 4) -> dict[str, float]:
    """Means over batches from the fifth on."""
    late = [one for one in told if one.number >= since]
    return {
        "crps_days": fmean(one.score_days for one in late),
        "covered": fmean(one.covered for one in late),
        "in_vain": fmean(one.in_vain for one in late),
        "asked": fmean(one.asked for one in late),
        "late_days": fmean(one.late_days for one in late),
        "width_days": fmean(one.width_days for one in late),
    }
