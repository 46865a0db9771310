"""When a culture should be ready, and when to ask a grower to look.

The custom is the recipe's ready window. A forecast begins from it, and learns from what this
group and all groups report; where the two disagree, practice overrules until a group's own
record says otherwise. "Ready" is a grower's judgement by look and smell, never a promise.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from bot.craft.forecast import Forecast
from bot.craft.foresight import foreseen, warmth_acts
from bot.craft.growth import BEST_C, beyond
from bot.craft.learning import Evidence, Outcome, Pool, evidence_of, gathered, leaning
from bot.craft.ways import Start, model_of

LOOK_CHANCE = 0.2
"""A look is asked once it is this likely ready: a look in vain then weighs as much as a quarter of
a day of lateness. Source: simulated seasons, seeds 0-99 of tests/benchmarks/readiness/thresholds;
the highest of those tried at which growers who tell unasked are, in every world, both asked less
often and heard earlier than by the fixed rule."""

INSPECT_CHANCE = 0.975
INSPECT_WINDOWS = 4
"""Past so many times the recipe's last day something is wrong, whatever the forecast says. A rule
of ours."""
EARLIER_REPORTS = 3
"""So many batches of a group must have been ready before the recipe's first day, by its own
report, before a look is asked that early. Source: a rule of ours, practice before model."""


Side = Literal["hot", "cold"]


@dataclass(frozen=True, slots=True)
class Window:
    """A recipe's ready window, in days from the start: where warm, and where cool."""

    first_day: float
    last_day: float


@dataclass(frozen=True, slots=True)
class Reply:
    """What a grower saw so many days after the start."""

    days: float
    verdict: Literal["ready", "not_yet", "bad"]


@dataclass(frozen=True, slots=True)
class Looks:
    """When to look, in days from the start; the first three at or after any look already taken.

    `look_days`: ask for a look from here on. `likely_days`: as likely ready as not.
    `until_days`: ready by then with chance 0.9. `doubt_days`: the recipe's last day; later the bot
    doubts. `inspect_days`: past here something may be wrong, and it is never called ready.
    `held` says that practice moved the look: the forecast alone would ask on another day.
    """

    look_days: float
    likely_days: float
    until_days: float
    doubt_days: float
    inspect_days: float
    held: bool


def heard(start: Start, replies: Iterable[Reply]) -> Outcome:
    """What the replies about one batch say together, in whatever order they came.

    "Not yet" on a day overrules a "ready" of the same day or before; the last word on "bad" counts,
    and after it nothing is known of when the batch would have been ready. Silence says nothing. A
    correction is a record without the reverted reply: fold it again.

    >>> start = Start((26.0,), 1.5)
    >>> outcome = heard(start, [Reply(6, "ready"), Reply(5, "not_yet")])
    >>> outcome.not_yet_days, outcome.ready_days
    (5, 6)

    Raises:
        ValueError: a reply from before the start.
    """
    told = sorted(replies, key=lambda reply: (reply.days, reply.verdict))
    if told and told[0].days < 0:
        raise ValueError("a reply cannot come before the start")
    not_yet = max((reply.days for reply in told if reply.verdict == "not_yet"), default=0.0)
    bad = bool(told) and told[-1].verdict == "bad"
    ready = min(
        (reply.days for reply in told if reply.verdict == "ready" and reply.days > not_yet),
        default=math.inf,
    )
    return Outcome(start, not_yet, ready, bad)


def learned(window: Window, outcomes: Iterable[Outcome]) -> Evidence:
    """What one group's batches of one kind say, from the record; in whatever order."""
    return gathered(model_of(window.first_day, window.last_day), outcomes)


def learned_from(window: Window, outcome: Outcome) -> Evidence:
    """What one batch says: add it to its group's evidence, or take it away if it is corrected."""
    return evidence_of(model_of(window.first_day, window.last_day), outcome)


def shared(window: Window, groups: Iterable[Evidence]) -> Pool:
    """What groups say together of one kind; pools of different groups add up."""
    model = model_of(window.first_day, window.last_day)
    pool = Pool()
    for evidence in groups:
        pool += leaning(model, evidence)
    return pool


def forecast(
    window: Window, start: Start, own: Evidence | None = None, everyone: Pool | None = None
) -> Forecast:
    """When a batch should be ready.

    `own` is its group's evidence, `everyone` the pool of all groups of this kind, this one among
    them. With neither, the recipe's own window speaks.

    >>> new = forecast(Window(5, 7), Start((26.0,), 1.5))
    >>> round(new.median_days, 1)
    5.9
    """
    model = model_of(window.first_day, window.last_day)
    mine = own or Evidence()
    others = (everyone - leaning(model, mine)) if everyone else Pool()
    return foreseen(model, others, mine, start)


# A barrel is asked about many times between two looks.
@lru_cache(maxsize=64)
def looks(
    forecast: Forecast, window: Window, own: Evidence | None = None, not_yet_days: float = 0.0
) -> Looks:
    """When to look next, after a look on `not_yet_days` (0: nobody looked yet).

    Practice overrules the forecast at both ends: no look before the recipe's first day until this
    group has itself reported three batches ready before it, and one asked by the day after its
    last day at the latest.
    """
    wished = forecast.by_chance(LOOK_CHANCE, not_yet_days)
    look = practised(wished, window, own, not_yet_days)
    until = forecast.by_chance(0.9, not_yet_days)
    if until <= look:
        # Only practice holds it back: then the custom's own last day goes.
        until = max(look, window.last_day)
    return Looks(
        look_days=look,
        likely_days=max(forecast.by_chance(0.5, not_yet_days), look),
        until_days=until,
        doubt_days=window.last_day,
        inspect_days=min(forecast.by_chance(INSPECT_CHANCE), INSPECT_WINDOWS * window.last_day),
        held=look != wished,
    )


def practised(
    wished_days: float, window: Window, own: Evidence | None, not_yet_days: float
) -> float:
    """The day a forecast wishes to ask on, moved to where practice has it."""
    look = wished_days
    if own is None or own.earlier < EARLIER_REPORTS:
        look = max(look, window.first_day)
    latest = window.last_day + 1
    if not_yet_days < latest:
        look = min(look, latest)
    return look


def outside_curve(temperatures_c: Iterable[float], off_c: float = 0.0) -> Side | None:
    """On which side days lie beyond what the curve knows, so that a forecast is worth little.

    `off_c` is how far each may be off: what may lie beyond counts. The hottest day goes first.

    >>> outside_curve([26.0]), outside_curve([41.0], 1.5), outside_curve([9.0])
    (None, 'hot', 'cold')
    """
    days = tuple(temperatures_c)
    if any(day > BEST_C and beyond(day + off_c) for day in days):
        return "hot"
    if any(day < BEST_C and beyond(day - off_c) for day in days):
        return "cold"
    return None


def share_of_warmth(window: Window, everyone: Pool | None = None) -> float:
    """How much of the duration follows temperature, as far as learned: 0 not at all, 1 all.

    >>> round(share_of_warmth(Window(5, 7)), 1)
    0.6
    """
    return warmth_acts(model_of(window.first_day, window.last_day), everyone or Pool())
