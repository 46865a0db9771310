"""Which barrel to start when: a good beginning, then annealing with pushed neighbours.

Deterministic for a seed. The method reached a gap of at most 2 % to the exact optimum in our own
measurements; tests/benchmarks/supply tables it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import exp
from random import Random

from bot.craft.brew_case import Case
from bot.craft.brew_flow import Flow, cheapest
from bot.craft.brew_held import over_held
from bot.craft.brew_rows import Barrel, Row, backward, barrels_of, dense, placed

# A try costs more the more barrels there are; for few both beginnings are searched, and longer.
_STEPS = 4000
_STEPS_FOR_MANY = 3000
_MANY_BARRELS = 12
_WARMTH = 3.0


@dataclass(frozen=True, slots=True)
class Brewing:
    """A plan: the starts of each barrel (in the order of `barrels_of`), its flow and its cost."""

    rows: tuple[Row, ...]
    flow: Flow
    cost: float


def brewing(case: Case, *, seed: int = 0, steps: int | None = None) -> Brewing:
    """The cheapest plan found: annealed from the better of two beginnings, or from both."""
    barrels = barrels_of(case)
    if steps is None:
        steps = _STEPS_FOR_MANY if len(barrels) >= _MANY_BARRELS else _STEPS
    tries = [_Search(case, barrels, rows(case, barrels)) for rows in (backward, dense)]
    if len(barrels) >= _MANY_BARRELS:
        tries = [min(tries, key=lambda each: each.cost)]
    for search in tries:
        search.anneal(Random(seed), steps)  # noqa: S311 - a search, not a secret
    plans = [Brewing(tuple(search.best), *_judged(case, tuple(search.best))) for search in tries]
    return min(plans, key=lambda plan: plan.cost)


def _judged(case: Case, rows: tuple[Row, ...]) -> tuple[Flow, float]:
    """The best flow of given starts, and all they cost."""
    search = _Search(case, barrels_of(case), list(rows))
    cost, flow = cheapest(case, search.room())
    return flow, search.fixed + cost + search.over_held(flow)


def cost_of(case: Case, rows: tuple[Row, ...]) -> float:
    """What given starts cost: fills, stirring, sugar, fresh starter, ageing and shortage."""
    return _judged(case, rows)[1]


class _Search:
    """Rows of starts with the litres of room they give a day, kept up to date move by move."""

    def __init__(self, case: Case, barrels: tuple[Barrel, ...], rows: list[Row]) -> None:
        self.case = case
        self.barrels = barrels
        self.rows = rows
        self.litres = [0.0] * case.days
        self.fixed = 0.0
        for index, row in enumerate(rows):
            self._count(index, row, 1)
        self.cost = self._cost()
        self.best = list(rows)

    def room(self) -> list[float]:
        """Litres that may be brewed a start day: barrels, or less where the water gives less."""
        most = self.case.fill_litres
        return self.litres if most is None else list(map(min, most, self.litres))

    def anneal(self, random: Random, steps: int) -> None:
        """Better rows into `best`: worse ones are taken now and then, ever more rarely.

        The last sixth goes on from the best so far and takes only what is no worse.
        """
        if not self.rows:
            return
        lowest = self.cost
        moves = self._moves(random)
        cold = steps - steps // 6
        for step in range(steps):
            if step == cold:
                self._take(dict(enumerate(self.best)))
                self.cost = lowest
            changes = self._move(random, moves)
            if not changes:
                continue
            before = {index: self.rows[index] for index in changes}
            self._take(changes)
            cost = self._cost()
            warmth = _WARMTH * max(0.0, 1 - step / cold) ** 2 + 1e-9
            if cost <= self.cost or random.random() < exp((self.cost - cost) / warmth):
                self.cost = cost
                if cost < lowest - 1e-9:
                    lowest, self.best = cost, list(self.rows)
            else:
                self._take(before)

    def _take(self, rows: dict[int, Row]) -> None:
        for index, row in rows.items():
            self._count(index, self.rows[index], -1)
            self._count(index, row, 1)
            self.rows[index] = row

    def _count(self, index: int, row: Row, sign: int) -> None:
        case = self.case
        size = case.sizes[self.barrels[index].size]
        for start in row:
            self.litres[start] += sign * size.litres
            self.fixed += sign * (size.fill_cost + case.prices.stir_a_day * case.ready_days[start])

    def over_held(self, flow: Flow) -> float:
        """What culture beyond the room in cans costs."""
        if self.case.held_litres is None:
            return 0.0
        return over_held(self.case, self.barrels, self.rows, flow)

    def _cost(self) -> float:
        few = len(self.barrels) < _MANY_BARRELS
        cost, flow = cheapest(self.case, self.room(), thrifty=few)
        return self.fixed + cost + self.over_held(flow)

    def _moves(self, random: Random) -> tuple[tuple[float, Callable[[int], dict[int, Row]]], ...]:
        def drop(index: int) -> dict[int, Row]:
            row = self.rows[index]
            at = random.randrange(len(row))
            return {index: row[:at] + row[at + 1 :]}

        def shift(index: int) -> dict[int, Row]:
            row = self.rows[index]
            at = random.randrange(len(row))
            start = row[at] + random.choice((-3, -2, -1, 1, 2, 3))
            return self._placed(index, row[:at] + row[at + 1 :], start)

        def hand_over(index: int) -> dict[int, Row]:
            row = self.rows[index]
            at = random.randrange(len(row))
            other = random.randrange(len(self.rows))
            if other == index:
                return {}
            taken = self._placed(other, self.rows[other], row[at])
            return {index: row[:at] + row[at + 1 :], **taken} if taken else {}

        def add(index: int) -> dict[int, Row]:
            return self._placed(index, self.rows[index], random.randrange(self.case.days))

        return (0.30, drop), (0.80, shift), (0.88, hand_over), (1.0, add)

    def _move(
        self, random: Random, moves: tuple[tuple[float, Callable[[int], dict[int, Row]]], ...]
    ) -> dict[int, Row]:
        index = random.randrange(len(self.rows))
        chance = random.random()
        if not self.rows[index]:
            chance = 1.0
        return next(move for most, move in moves if chance <= most)(index)

    def _placed(self, index: int, row: Row, start: int) -> dict[int, Row]:
        new = placed(self.case, self.barrels[index].free_from, row, start)
        return {} if new == self.rows[index] or start not in new else {index: new}
