"""A batch's outlook in days of the calendar: when to look, when it is likely, when to doubt."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

from bot.craft import climate
from bot.craft.batches import Batch
from bot.craft.forecast import Forecast
from bot.craft.learning import Evidence, Outcome, Pool
from bot.craft.readiness import (
    Reply,
    Side,
    Window,
    forecast,
    heard,
    learned,
    looks,
    outside_curve,
)
from bot.craft.recipe import Recipe
from bot.craft.warmth import READING_SD_C, WORDS_C, Source, Told, Warmth, warmth
from bot.craft.ways import Start

CAUTIOUS = 0.8
"""The chance with which a supply plan counts on a batch. Source: bot.craft.supply."""

DAYS_AHEAD = 15
"""So many days of usual warmth are laid under a forecast; the last one stays."""

Place = Sequence[float]
"""Latitude, longitude and, where known, altitude in metres."""


@dataclass(frozen=True, slots=True)
class Outlook:
    """When to look at a batch, each a calendar day where it stands.

    `look_on` to `until_on` (inclusive) are the days to look, `likely_on` the likeliest. After
    `doubt_on`, the recipe's own last day, the bot doubts; from `inspect_on` something may be wrong.
    `warm` is what it rests on, `batches` how many of this group's stand behind it, `everyone` how
    many of all groups'. `held` says that practice moved the look, `sooner` that it may well be
    ready before a first look which practice put off, `outside` that it is so hot or cold that
    little is known.
    """

    look_on: date
    likely_on: date
    until_on: date
    doubt_on: date
    inspect_on: date
    warm: Warmth
    batches: int
    everyone: int
    held: bool
    sooner: bool
    outside: Side | None
    started_on: date
    forecast: Forecast
    not_yet_days: float = 0.0

    def chance_by(self, on: date) -> float:
        """The chance that it is ready by the end of a day, given the last "not yet"."""
        return self.forecast.chance_by((on - self.started_on).days + 0.5, self.not_yet_days)


def window_of(recipe: Recipe) -> Window:
    """The recipe's own ready window in days."""
    return Window(recipe.ready.warm_days, recipe.ready.cool_days)


def usual_c(place: Place, since: date) -> tuple[float, ...]:
    """The usual warmth of the days from `since` on at a place; empty where it is not known."""
    if len(place) < 2:
        return ()
    altitude_m = place[2] if len(place) > 2 else None
    days = (since + timedelta(days=each) for each in range(DAYS_AHEAD))
    found = [climate.mean_on_c(place[0], place[1], each, altitude_m) for each in days]
    return tuple(each for each in found if each is not None)


def warm_of(batch: Batch, place: Place) -> Warmth:
    """How warm the batch's days are, from what was told and what is usual there."""
    started_on = batch.started_on
    if started_on is None:
        return warmth()
    told = [
        Told((each.on - started_on).days, float(each.celsius), "reading")
        if each.celsius is not None
        else Told((each.on - started_on).days, WORDS_C[each.word], "word")
        for each in batch.warmths
        if each.celsius is not None or each.word in WORDS_C
    ]
    return warmth(told, usual_c(place, started_on))


def outcome(batch: Batch, place: Place) -> Outcome | None:
    """What the looks at one filling say together; None if nobody looked."""
    replies = _replies(batch)
    if not replies:
        return None
    return heard(_start(batch, warm_of(batch, place)), replies)


def evidence(batches: Iterable[Batch], recipe: Recipe, place: Place) -> Evidence:
    """What a group's fillings of one recipe say, from the record alone, in whatever order."""
    outcomes = [
        found
        for batch in batches
        for each in (*batch.past, batch)
        if each.recipe == recipe.kind and each.state != "fermenting"
        for found in [outcome(each, place)]
        if found is not None
    ]
    return learned(window_of(recipe), outcomes)


def outlook(
    batch: Batch, recipe: Recipe, place: Place, own: Evidence, everyone: Pool
) -> Outlook | None:
    """When to look at a batch that was started; None for one that was not."""
    if batch.started_on is None:
        return None
    warm = warm_of(batch, place)
    window = window_of(recipe)
    seen = forecast(window, _start(batch, warm), own, everyone)
    not_yet = max(
        (reply.days for reply in _replies(batch) if reply.verdict == "not_yet"), default=0
    )
    found = looks(seen, window, own, not_yet)
    outside = _outside(batch, warm)
    refused = [look.on for look in batch.looks if look.verdict == "not_yet"]
    # Not before the chance is there; the benchmark asks on the same day.
    look_on = batch.started_on + timedelta(days=math.ceil(found.look_days - 1e-9))
    if refused:
        look_on = max(look_on, max(refused) + timedelta(days=1))
    return Outlook(
        look_on,
        max(look_on, _day(batch.started_on, found.likely_days)),
        max(look_on, _day(batch.started_on, found.until_days)),
        _day(batch.started_on, found.doubt_days),
        _day(batch.started_on, found.inspect_days),
        warm,
        own.batches,
        everyone.batches,
        found.held,
        outside is None and not not_yet and found.held and found.likely_days <= found.look_days,
        outside,
        batch.started_on,
        seen,
        not_yet,
    )


def _outside(batch: Batch, warm: Warmth) -> Side | None:
    """By what was told last; a word is never beyond. Where nobody told, by what is usual."""
    if not batch.warmths:
        return outside_curve(warm.temperatures_c) if warm.source == "climate" else None
    # Of several told of one day the last one counts.
    last = max(reversed(batch.warmths), key=lambda each: each.on)
    return outside_curve(() if last.celsius is None else (float(last.celsius),), READING_SD_C)


def expected_days(
    recipe: Recipe, place: Place, on: date, own: Evidence, everyone: Pool
) -> tuple[int, int]:
    """Days until a kept-back start of a day is ready: by which it is with chance 0.8, and 0.5."""
    warm = warmth((), usual_c(place, on))
    start = Start(warm.temperatures_c, warm.sd_c, kept=True)
    seen = forecast(window_of(recipe), start, own, everyone)
    return ceil(seen.by_chance(CAUTIOUS)), ceil(seen.by_chance(0.5))


def expected_on(
    batch: Batch, recipe: Recipe, place: Place, own: Evidence, everyone: Pool, today: date
) -> tuple[date, date]:
    """The days by which a running batch is ready with chance 0.8, and 0.5; not before today.

    A batch that was never started is taken as started today.
    """
    seen = forecast(window_of(recipe), _start(batch, warm_of(batch, place)), own, everyone)
    started_on = batch.started_on or today
    # Nobody has called it ready: it was not, when it was last looked at.
    not_yet = max((reply.days for reply in _replies(batch)), default=0)
    cautious, middle = (
        started_on + timedelta(days=ceil(seen.by_chance(chance, not_yet)))
        for chance in (CAUTIOUS, 0.5)
    )
    return max(cautious, today + timedelta(days=1)), max(middle, today)


def _start(batch: Batch, warm: Warmth) -> Start:
    return Start(warm.temperatures_c, warm.sd_c, kept=batch.kept_back_ml > 0)


def _replies(batch: Batch) -> list[Reply]:
    """The looks in days from the start; one of the day of the start itself says nothing."""
    replies: list[Reply] = []
    for look in batch.looks:
        days = (look.on - batch.started_on).days if batch.started_on else 0
        if days > 0 and look.verdict in {"ready", "not_yet", "bad"}:
            replies.append(Reply(days, look.verdict))  # type: ignore[arg-type]
    return replies


def _day(started_on: date, days: float) -> date:
    """The calendar day nearest to so many days after the start, halves later."""
    return started_on + timedelta(days=int(days + 0.5))


__all__ = ["Evidence", "Outlook", "Pool", "Source", "evidence", "outlook", "usual_c", "window_of"]
