"""What was reported, as whole numbers that add up.

A batch that was not ready on one day and ready on another says how likely each offset of its group
is, under each law and each spread. Those log-likelihoods are kept as whole numbers on a grid, so
evidence comes to the same state in whatever order it came, can be taken away again, and merges
between workers by addition. Nothing is approximated but the grid.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache
from operator import add, mul, sub

from bot.craft.ways import KEPT_STEPS, OFFSETS, Model, Start, bases, kernel

UNIT = 2.0**-16
"""One step of a stored log-likelihood, in nats."""

SPOILT, SOUND = 1.0, 19.0
"""Where nobody has reported, one batch in 20 goes bad. An assumption."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What was heard of one batch: it became ready after `not_yet_days`, by `ready_days`.

    0 is never looked before; infinity is not ready so far. `bad` is a batch given up.

    Raises:
        ValueError: ready before it was not.
    """

    start: Start
    not_yet_days: float = 0.0
    ready_days: float = math.inf
    bad: bool = False

    def __post_init__(self) -> None:
        if not 0 <= self.not_yet_days < self.ready_days:
            raise ValueError(
                f"not ready on day {self.not_yet_days} and ready by day {self.ready_days} cannot be"
            )

    @property
    def tells(self) -> bool:
        """Whether it says anything about when."""
        return self.not_yet_days > 0 or self.ready_days < math.inf


@dataclass(frozen=True, slots=True)
class Evidence:
    """What one group's batches of one kind say: add another's, or take one away again.

    `fresh` and `kept` hold, for each cell and offset, a log-likelihood in steps of `UNIT`.
    `earlier` counts the batches that were ready before the recipe's first day.
    """

    fresh: tuple[int, ...] = ()
    kept: tuple[int, ...] = ()
    batches: int = 0
    bad: int = 0
    earlier: int = 0

    def __add__(self, other: Evidence) -> Evidence:
        return Evidence(
            summed(self.fresh, other.fresh),
            summed(self.kept, other.kept),
            self.batches + other.batches,
            self.bad + other.bad,
            self.earlier + other.earlier,
        )

    def __sub__(self, other: Evidence) -> Evidence:
        return Evidence(
            summed(self.fresh, other.fresh, sub),
            summed(self.kept, other.kept, sub),
            self.batches - other.batches,
            self.bad - other.bad,
            self.earlier - other.earlier,
        )


@dataclass(frozen=True, slots=True)
class Pool:
    """What all groups' evidence says of the centre and of the kept-back difference.

    `lean` holds, for each cell, kept-back difference and centre, a log-likelihood in steps of
    `UNIT`: what a group leans towards (see `leaning`), summed over groups.
    """

    lean: tuple[int, ...] = ()
    groups: int = 0
    batches: int = 0
    bad: int = 0

    def __add__(self, other: Pool) -> Pool:
        return Pool(
            summed(self.lean, other.lean),
            self.groups + other.groups,
            self.batches + other.batches,
            self.bad + other.bad,
        )

    def __sub__(self, other: Pool) -> Pool:
        return Pool(
            summed(self.lean, other.lean, sub),
            self.groups - other.groups,
            self.batches - other.batches,
            self.bad - other.bad,
        )

    @property
    def bad_share(self) -> float:
        """The share of batches that go bad, from 1 in 20 where nobody has reported."""
        return (SPOILT + self.bad) / (SPOILT + SOUND + self.batches)


@lru_cache(maxsize=256)
def evidence_of(model: Model, outcome: Outcome) -> Evidence:
    """What one batch says. A reply may be wrong, so no offset is ever ruled out."""
    if not outcome.tells:
        return Evidence((), (), 1, int(outcome.bad))
    low = math.log(outcome.not_yet_days) if outcome.not_yet_days > 0 else -math.inf
    high = math.log(outcome.ready_days)
    table: list[int] = []
    floor = model.wrong / 2
    true = 1 - model.wrong
    for base, sd in bases(model, outcome.start):
        narrow = 1 / (sd * math.sqrt(2))
        by = [math.erfc((base + offset - high) * narrow) for offset in OFFSETS]
        if low > -math.inf:
            by = [
                reached - math.erfc((base + offset - low) * narrow)
                for reached, offset in zip(by, OFFSETS, strict=True)
            ]
        table += [round(math.log(true * max(mass, 0.0) / 2 + floor) / UNIT) for mass in by]
    said = tuple(table)
    bad, earlier = int(outcome.bad), int(outcome.ready_days < model.first_day)
    if outcome.start.kept:
        return Evidence((), said, 1, bad, earlier)
    return Evidence(said, (), 1, bad, earlier)


def gathered(model: Model, outcomes: Iterable[Outcome]) -> Evidence:
    """What a group's batches say together, in whatever order."""
    found = Evidence()
    for outcome in outcomes:
        found += evidence_of(model, outcome)
    return found


@lru_cache(maxsize=512)
def leaning(model: Model, evidence: Evidence) -> Pool:
    """What one group says of all groups: its own offset summed out."""
    lean: list[int] = []
    if evidence.fresh or evidence.kept:
        rows = kernel(model.group_sd)
        for cell in range(len(model.cells)):
            known: list[int] = []
            for kept_steps in KEPT_STEPS:
                if evidence.kept or not known:
                    chances, top = likely(evidence, cell, kept_steps)
                    known = [
                        round((math.log(sum(map(mul, row, chances))) + top) / UNIT) for row in rows
                    ]
                lean += known
    return Pool(tuple(lean), 1 if evidence.batches else 0, evidence.batches, evidence.bad)


def likely(evidence: Evidence, cell: int, kept_steps: int) -> tuple[list[float], float]:
    """The likelihood of each offset in a cell, the highest being 1; and the highest's log."""
    size = len(OFFSETS)
    at = cell * size
    logs = list(evidence.fresh[at : at + size]) or [0] * size
    if evidence.kept:
        # A kept-back batch of offset o lies where a fresh one of o + difference would.
        kept = evidence.kept[at : at + size]
        moved = (
            kept[kept_steps:] + kept[-1:] * kept_steps
            if kept_steps >= 0
            else kept[:1] * -kept_steps + kept[:kept_steps]
        )
        logs = list(map(add, logs, moved))
    top = max(logs)
    return [math.exp((value - top) * UNIT) for value in logs], top * UNIT


def summed(
    one: tuple[int, ...], other: tuple[int, ...], how: Callable[[int, int], int] = add
) -> tuple[int, ...]:
    """Element by element; an empty tuple is all zeros, and all zeros is an empty tuple."""
    if not other:
        return one
    found = tuple(map(how, one or (0,) * len(other), other))
    return found if any(found) else ()
