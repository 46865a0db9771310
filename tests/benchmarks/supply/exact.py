"""The exact reference for the supply plan: a mixed-integer programme, solved by HiGHS.

Source: HiGHS (open-source MIP solver) through its own Python package, highspy.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from math import inf

import highspy
import numpy as np

from bot.craft.brew_case import Case

Key = tuple[str, int, int]


@dataclass(frozen=True, slots=True)
class Optimum:
    """The best plan found and what no plan can beat."""

    cost: float
    bound: float
    proved: bool


@dataclass(slots=True)
class _Programme:
    columns: dict[Key, int] = field(default_factory=dict)
    costs: list[float] = field(default_factory=list)
    uppers: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[tuple[dict[int, float], float, float]] = field(default_factory=list)

    def column(self, key: Key, cost: float, upper: float, *, whole: bool = False) -> None:
        self.columns[key] = len(self.costs)
        self.costs.append(cost)
        self.uppers.append(upper)
        self.whole.append(whole)

    def some(self, name: str, *, first: int | None = None, second: int | None = None) -> list[int]:
        return [
            column
            for key, column in self.columns.items()
            if key[0] == name and first in {None, key[1]} and second in {None, key[2]}
        ]


def sources(case: Case) -> Iterator[tuple[int, int]]:
    """Start day (or -1 - index of a running batch) and day of readiness."""
    for start in range(case.days):
        if case.ready[start] <= case.last:
            yield start, case.ready[start]
    for index, run in enumerate(case.running):
        yield -1 - index, run.ready


def _columns(case: Case) -> _Programme:
    programme = _Programme()
    prices = case.prices
    for source, ready in sources(case):
        until = ready + case.shelf_days
        if source >= 0:
            for kind, size in enumerate(case.sizes):
                fixed = size.fill_cost + prices.stir_a_day * case.ready_days[source]
                programme.column(("x", kind, source), fixed, len(size.free_from), whole=True)
            programme.column(("v", source, 0), prices.sugar, inf)
            programme.column(("f", source, 0), prices.fresh_starter, inf)
        for index, want in enumerate(case.wants):
            if ready <= want.latest and until >= want.earliest:
                age = prices.age_a_day * max(want.earliest - ready, 0)
                programme.column(("y", source, index), age, want.litres)
        for start, _ in sources(case):
            if start >= 0 and ready <= start <= until:
                programme.column(("z", source, start), prices.age_a_day * (start - ready), inf)
    for index, want in enumerate(case.wants):
        programme.column(("u", index, 0), prices.unmet, want.litres)
    return programme


def _rows(case: Case, programme: _Programme) -> None:
    starts = [source for source, _ in sources(case) if source >= 0]
    columns, rows = programme.columns, programme.rows
    for kind, size in enumerate(case.sizes):
        for day in range(case.days + max(case.busy_days)):
            busy = {
                columns["x", kind, start]: 1.0
                for start in starts
                if start <= day < start + case.busy_days[start]
            }
            free = sum(1 for free_from in size.free_from if free_from <= day)
            if busy:
                rows.append((busy, -inf, free))
    for source, _ in sources(case):
        out = dict.fromkeys(programme.some("y", first=source), 1.0)
        out.update(dict.fromkeys(programme.some("z", first=source), 1.0))
        if source < 0:
            rows.append((out, -inf, case.running[-1 - source].litres))
            continue
        volume = columns["v", source, 0]
        room = {columns["x", kind, source]: -size.litres for kind, size in enumerate(case.sizes)}
        rows.append(({volume: 1.0, **room}, -inf, 0.0))
        if case.fill_litres is not None:
            rows.append(({volume: 1.0}, -inf, case.fill_litres[source]))
        rows.append(({**out, volume: -1.0}, -inf, 0.0))
        starter = dict.fromkeys(programme.some("z", second=source), 1.0)
        rows.append(({**starter, columns["f", source, 0]: 1.0, volume: -case.keep_share}, 0.0, inf))
    for index, want in enumerate(case.wants):
        served = dict.fromkeys(programme.some("y", second=index), 1.0)
        rows.append(({**served, columns["u", index, 0]: 1.0}, want.litres, want.litres))


def optimum(
    case: Case, *, seconds: float = 60.0, fixed: Mapping[Key, float] | None = None
) -> Optimum:
    """The least cost a plan of this case can have; `fixed` pins columns, as ("x", size, day)."""
    programme = _columns(case)
    _rows(case, programme)
    model = highspy.HighsLp()
    model.num_col_ = len(programme.costs)
    model.num_row_ = len(programme.rows)
    model.col_cost_ = np.array(programme.costs)
    lower = np.zeros(len(programme.costs))
    upper = np.array(programme.uppers)
    for key, value in (fixed or {}).items():
        lower[programme.columns[key]] = upper[programme.columns[key]] = value
    model.col_lower_ = lower
    model.col_upper_ = upper
    model.row_lower_ = np.array([row[1] for row in programme.rows])
    model.row_upper_ = np.array([row[2] for row in programme.rows])
    begins, columns, values = [0], [], []
    for coefficients, _, _ in programme.rows:
        columns += list(coefficients)
        values += list(coefficients.values())
        begins.append(len(columns))
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_ = np.array(begins)
    model.a_matrix_.index_ = np.array(columns)
    model.a_matrix_.value_ = np.array(values, dtype=float)
    kinds = highspy.HighsVarType
    model.integrality_ = [
        kinds.kInteger if whole else kinds.kContinuous for whole in programme.whole
    ]
    solver = highspy.Highs()  # type: ignore[no-untyped-call]
    solver.silent()
    solver.setOptionValue("time_limit", seconds)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("mip_rel_gap", 1e-4)
    solver.passModel(model)
    solver.run()
    found = solver.getInfo()
    proved = solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return Optimum(found.objective_function_value, found.mip_dual_bound, proved)
