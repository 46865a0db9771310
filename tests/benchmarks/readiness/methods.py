"""The ways of saying when that are compared: the fixed rule, degree-days, and ours."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Protocol

import numpy as np

from bot.craft.forecast import Forecast
from bot.craft.foresight import foreseen
from bot.craft.growth import Law
from bot.craft.learning import Evidence, Outcome, Pool, evidence_of, leaning
from bot.craft.readiness import EARLIER_REPORTS, LOOK_CHANCE, Window, practised
from bot.craft.warmth import READING_SD_C, Told, warmth
from bot.craft.ways import Cell, Model, Start, model_of
from tests.benchmarks.readiness.arrays import Array, Whole, crps, grid
from tests.benchmarks.readiness.worlds import Batch

WINDOW = Window(5, 7)


class Method(Protocol):
    """One way of saying when a batch is ready, and of learning from what is told."""

    name: str
    volunteers: float
    dated: float

    def say(self, batch: Batch) -> None:
        """Take up a batch."""

    def score(self, days: float) -> float:
        """Continuous ranked probability score of what was said, in days."""

    def interval(self) -> tuple[float, float]:
        """The 80 % interval."""

    def ask(self, not_yet_days: float) -> int:
        """The next whole day to ask on."""

    def late(self) -> bool:
        """Whether its first look comes late by its own lights, so that it asks since when."""

    def hear(self, batch: Batch, not_yet_days: float, ready_days: float) -> None:
        """Learn from what was told."""


class Fixed:
    """Day 5 to 7 for every batch, asked each day from day 5."""

    name = "fixed day 5 to 7"

    dated = 0.0

    def __init__(self, volunteers: float = 0.0) -> None:
        self.volunteers = volunteers

    def say(self, batch: Batch) -> None:
        pass

    def score(self, days: float) -> float:
        low, high = 5.0, 7.0
        place = min(max((days - low) / (high - low), 0), 1)
        return abs(days - min(max(days, low), high)) + (high - low) * (place**2 - place + 1 / 3)

    def interval(self) -> tuple[float, float]:
        return 5.2, 6.8

    def ask(self, not_yet_days: float) -> int:
        return max(5, int(not_yet_days) + 1)

    def late(self) -> bool:
        return False

    def hear(self, batch: Batch, not_yet_days: float, ready_days: float) -> None:
        pass


class Oracle(Fixed):
    """Knows the truth and asks on its day: what silence and whole days cost anybody."""

    name = "oracle"
    _days = 0.0

    def say(self, batch: Batch) -> None:
        self._days = batch.ready_days

    def score(self, days: float) -> float:
        return abs(days - self._days)

    def interval(self) -> tuple[float, float]:
        return self._days, self._days

    def ask(self, not_yet_days: float) -> int:
        return max(math.ceil(self._days), int(not_yet_days) + 1)


@dataclass
class Learning:
    """A model with its evidence; `practice` keeps the rule that the recipe's window overrules,
    `plain` takes a reading as it is."""

    name: str
    model: Model
    practice: bool = True
    volunteers: float = 0.0
    dated: float = 0.0
    plain: bool = False
    chance: float = LOOK_CHANCE
    _own: dict[int, Evidence] = field(default_factory=dict)
    _pool: Pool = field(default_factory=Pool)
    _forecast: Forecast = field(default_factory=lambda: Forecast(()))
    _mine: Evidence = field(default_factory=Evidence)

    def start_of(self, batch: Batch) -> Start:
        if self.plain:
            return Start((batch.read_c,), READING_SD_C, batch.kept)
        found = warmth([Told(0, batch.read_c, "reading")])
        return Start(found.temperatures_c, found.sd_c, batch.kept)

    def say(self, batch: Batch) -> None:
        self._mine = self._own.get(batch.group, Evidence())
        others = self._pool - leaning(self.model, self._mine)
        self._forecast = foreseen(self.model, others, self._mine, self.start_of(batch))

    def score(self, days: float) -> float:
        return crps(self._forecast, days)

    def interval(self) -> tuple[float, float]:
        return self._forecast.interval_days(0.8)

    def ask(self, not_yet_days: float) -> int:
        days = self._forecast.by_chance(self.chance, not_yet_days)
        if self.practice:
            days = practised(days, WINDOW, self._mine, not_yet_days)
        return max(math.ceil(days - 1e-9), int(not_yet_days) + 1)

    def late(self) -> bool:
        held = self.practice and self._mine.earlier < EARLIER_REPORTS
        return held and self._forecast.by_chance(0.5) <= WINDOW.first_day

    def hear(self, batch: Batch, not_yet_days: float, ready_days: float) -> None:
        outcome = Outcome(self.start_of(batch), not_yet_days, ready_days)
        after = self._mine + evidence_of(self.model, outcome)
        self._pool += leaning(self.model, after) - leaning(self.model, self._mine)
        self._own[batch.group] = after


@dataclass
class Grown:
    """What is known of one group, as arrays: of `Grid.said`, `Grid.leaning` and `Grid.likely`."""

    fresh: Whole
    kept: Whole
    leaning: Whole
    chances: Array | None = None


@dataclass
class Swift(Learning):
    """The same, ten times as fast: the bot's sums in numpy, with nothing left out."""

    _groups: dict[int, Grown] = field(default_factory=dict)
    _level: Whole | None = None

    def say(self, batch: Batch) -> None:
        on = grid(self.model)
        if self._level is None:
            self._level = np.zeros_like(on.level)
        self._mine = self._own.get(batch.group, Evidence())
        mine = self._groups.get(batch.group) or Grown(on.nothing, on.nothing, on.level)
        self._groups[batch.group] = mine
        start = self.start_of(batch)
        self._forecast = on.foreseen(self._level - mine.leaning, mine.leaning, mine.chances, start)

    def hear(self, batch: Batch, not_yet_days: float, ready_days: float) -> None:
        on = grid(self.model)
        outcome = Outcome(self.start_of(batch), not_yet_days, ready_days)
        early = int(outcome.ready_days < self.model.first_day)
        self._own[batch.group] = replace(self._mine, earlier=self._mine.earlier + early)
        if not outcome.tells or self._level is None:
            return
        mine = self._groups[batch.group]
        said = on.said(outcome)
        fresh = mine.fresh if batch.kept else mine.fresh + said
        kept = mine.kept + said if batch.kept else mine.kept
        chances, top = on.likely(fresh, kept)
        leant = on.leaning(chances, top)
        self._level = self._level + leant - mine.leaning
        self._groups[batch.group] = Grown(fresh, kept, leant, chances)


@dataclass(frozen=True)
class DegreeDays(Law):
    """Days = heat sum / (temperature - base): the anchors of the custom fix both.

    5 days at 31 °C and 7 at 22 °C: base -0.5 °C, sum 157.5 degree-days.
    """

    def days_at(self, temperature_c: float) -> float:
        return 157.5 / max(temperature_c + 0.5, 1.0)


def ours(kind: type[Learning] = Swift, **more: float) -> Learning:
    """The model the bot uses, for the custom of 5 to 7 days; `Learning` plays it with `bot.craft`
    itself."""
    return kind("ours", model_of(5, 7), **more)  # type: ignore[arg-type]


DEGREE_DAYS = Model((Cell(DegreeDays(0, 0), 0.12, 1.0),), 5, lagging=0)


def degree_days(kind: type[Learning] = Swift) -> Learning:
    """Degree-days that learn as ours do: one law, one spread."""
    return kind("degree-days, learning", DEGREE_DAYS, practice=False, plain=True)
