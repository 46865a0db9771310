"""A season under uncertainty: batches that come late or fail, and the plan made anew each time.

Ready time is log-normal (sd 0.20 of its logarithm), a batch in twenty fails and is found out on
the day it should be ready. Source of both: findings of our own; invented seasons.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from math import ceil, exp
from random import Random

from bot.craft.brew_case import Case, Running, Size, Want
from bot.craft.brew_rows import barrels_of
from bot.craft.brew_search import Brewing, brewing

SPREAD = 0.20
FAILS = 0.05
HOLD = 2
# The 80 % point of a standard normal distribution.
EIGHTY = 0.8416


@dataclass(slots=True)
class Batch:
    """One barrel's fill as it really went."""

    barrel: int
    started: int
    ready: int
    planned: int
    left: float
    fails: bool
    judged: bool = False
    lost: bool = False


@dataclass(slots=True)
class Season:
    """A case lived through day by day."""

    case: Case
    random: Random
    spare: float
    steps: int
    batches: list[Batch] = field(default_factory=list)
    served: float = 0.0
    replans: int = 0

    def live(self) -> float:
        """The share of all litres wanted that were served in their window."""
        case = self.case
        barrels = barrels_of(case)
        free = [0] * len(barrels)
        open_litres = [want.litres for want in case.wants]
        plan, since = self._plan(0, free, open_litres), 0
        waiting: list[tuple[int, float]] = []
        for day in range(case.last + 1):
            if self._judge(day):
                for batch in self.batches:
                    if not batch.judged and not batch.lost:
                        free[batch.barrel] = max(free[batch.barrel], batch.planned + HOLD, day + 1)
                    if batch.lost and batch.ready == day:
                        free[batch.barrel] = day
                plan, since, waiting = self._plan(day, free, open_litres), day, []
                self.replans += 1
            waiting += self._due(plan, day - since)
            waiting = self._start(day, waiting, free)
            self._serve(day, open_litres)
        return self.served / sum(want.litres for want in case.wants)

    def _plan(self, day: int, free: list[int], open_litres: list[float]) -> Brewing:
        """The plan as of a day: what is in hand or growing, and what is still wanted."""
        case = self.case
        numbers = iter(free)
        sizes = tuple(
            Size(
                size.litres,
                size.fill_cost,
                tuple(max(0, next(numbers) - day) for _ in size.free_from),
            )
            for size in case.sizes
        )
        wants = tuple(
            Want(max(0, want.earliest - day), want.latest - day, litres * (1 + self.spare))
            for want, litres in zip(case.wants, open_litres, strict=True)
            if litres > 1e-6 and want.latest >= day
        )
        running = tuple(
            Running(
                (batch.ready if batch.judged else max(batch.planned, day + 1)) - day, batch.left
            )
            for batch in self.batches
            if not batch.lost and batch.left > 1e-6
        )
        rest = replace(
            case,
            days=case.days - day,
            ready_days=case.ready_days[day:],
            busy_days=case.busy_days[day:],
            sizes=sizes,
            wants=wants,
            running=running,
        )
        return brewing(rest, steps=self.steps)

    def _judge(self, day: int) -> bool:
        """Whether today brought anything the plan did not know: a failure or a late batch."""
        news = False
        for batch in self.batches:
            if batch.judged or batch.lost:
                continue
            if batch.ready <= day:
                batch.judged, batch.lost = not batch.fails, batch.fails
                news = news or batch.fails
            elif batch.planned == day:
                news = True
        return news

    def _due(self, plan: Brewing, day: int) -> list[tuple[int, float]]:
        """Barrels that the plan starts on a day (counted from the plan), and how full."""
        due: list[tuple[int, float]] = []
        left = plan.flow.made[day] if day < len(plan.flow.made) else 0.0
        for index, row in enumerate(plan.rows):
            litres = min(self.case.sizes[barrels_of(self.case)[index].size].litres, left)
            if day in row and litres > 1e-6:
                left -= litres
                due.append((index, litres))
        return due

    def _start(
        self, day: int, due: list[tuple[int, float]], free: list[int]
    ) -> list[tuple[int, float]]:
        """Start what can be started; a barrel still in use waits."""
        waiting: list[tuple[int, float]] = []
        for index, litres in due:
            busy = [
                batch
                for batch in self.batches
                if batch.barrel == index and not batch.lost and batch.ready + HOLD > day
            ]
            if busy:
                waiting.append((index, litres))
                continue
            self._draw(day, litres * self.case.keep_share)
            median = self.case.busy_days[day] - HOLD
            days = median * exp(self.random.gauss(0, SPREAD))
            planned = day + self.case.ready_days[day]
            fails = self.random.random() < FAILS
            self.batches.append(Batch(index, day, day + ceil(days), planned, litres, fails))
            free[index] = day + self.case.busy_days[day]
        return waiting

    def _draw(self, day: int, litres: float) -> float:
        """Litres out of what is ready and unexpired, oldest first; fresh starter is not counted."""
        need = litres
        for batch in sorted(self.batches, key=lambda each: each.ready):
            if batch.judged and not batch.lost and day <= batch.ready + self.case.shelf_days:
                taken = min(need, batch.left)
                batch.left -= taken
                need -= taken
        return litres - need

    def _serve(self, day: int, open_litres: list[float]) -> None:
        order = sorted(range(len(open_litres)), key=lambda each: self.case.wants[each].latest)
        for index in order:
            want = self.case.wants[index]
            if open_litres[index] > 1e-6 and want.earliest <= day <= want.latest:
                got = self._draw(day, open_litres[index])
                open_litres[index] -= got
                self.served += got


def uncertain(case: Case) -> Case:
    """The case with its ready days taken as medians: cautious to be ready, median to be busy."""
    cautious = tuple(ceil(days * exp(EIGHTY * SPREAD)) for days in case.ready_days)
    return replace(
        case, ready_days=cautious, busy_days=tuple(days + HOLD for days in case.ready_days)
    )


def seasons(case: Case, *, spare: float, number: int, steps: int) -> tuple[float, float, float]:
    """Served on average, in the worst twentieth of seasons, and plans made anew a season."""
    lived = [Season(uncertain(case), Random(seed), spare, steps) for seed in range(number)]
    shares = sorted(season.live() for season in lived)
    worst = shares[: max(1, number // 20)]
    again = sum(season.replans for season in lived) / number
    return sum(shares) / number, sum(worst) / len(worst), again
