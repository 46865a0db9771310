"""Enough on spray day: which barrel to start when and how full, and what will be short.

The plan is made anew from what stands today whenever a batch is late or spoilt or a round moves:
a failed batch is simply not among the running ones, and its starter is found elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from math import ceil

from bot.craft.brew_case import Case, Prices, Running, Size, Want, merged
from bot.craft.brew_held import held
from bot.craft.brew_rows import Barrel, barrels_of
from bot.craft.brew_search import Brewing, brewing
from bot.craft.shortage import Shortage, shortages
from bot.craft.spray_days import Crew, Job, Lot, Portion, Stock, Undone, Window, scheduled

# Litres planned beyond what is wanted, as a share: a batch in twenty fails, and one in five is
# late. Source: our own simulation (tests/benchmarks/supply): with a tenth a small group is served
# 97 to 98 % of its litres on average, without 92 to 95 %.
SPARE = 0.10


@dataclass(frozen=True, slots=True)
class Vessel:
    """A barrel of the group: its room, and the day from which it is free (today if it is)."""

    id: str
    ml: int
    free_on: date


@dataclass(frozen=True, slots=True)
class InHand:
    """A batch that is growing or in hand: when it is usable (at the 80 % point), what is left."""

    id: str
    ready_on: date
    ml: int


@dataclass(frozen=True, slots=True)
class Round:
    """A round of somebody's plan: best `on`, possible from `earliest_on` to `latest_on`."""

    id: str
    member_id: str
    earliest_on: date
    on: date
    latest_on: date
    tanks: int
    culture_ml: int
    mix_ml: int
    sprayer_id: str = ""


@dataclass(frozen=True, slots=True)
class Culture:
    """How the group's culture behaves, for each day from today.

    `ready_days` is the cautious count (80 % point of the ready time), `busy_days` the median and
    the days until a barrel is drawn off. `held_ml` is the room in cans (None: no limit).
    """

    ready_days: tuple[int, ...]
    busy_days: tuple[int, ...]
    shelf_days: int = 20
    keep_share: float = 0.10
    held_ml: int | None = None
    prices: Prices = field(default_factory=Prices)


@dataclass(frozen=True, slots=True)
class Start:
    """A barrel to start: how full, and where its starter comes from.

    `kept_ml` is kept back from other batches (their ids, or the day and barrel of a start to
    come), `fresh_ml` must be bought or begged; water and feed make up the rest of `fill_ml`.
    """

    on: date
    barrel_id: str
    fill_ml: int
    kept_ml: int
    fresh_ml: int
    ready_on: date
    use_by_on: date


@dataclass(frozen=True, slots=True)
class Spray:
    """Tanks of a round on one day: who sprays, with which sprayer, how much of what."""

    round_id: str
    on: date
    tanks: int
    culture_ml: int
    water_ml: int
    hand_id: str
    sprayer_id: str


@dataclass(frozen=True, slots=True)
class Supply:
    """The plan of a group: what to start, who sprays when, what is short.

    `held_ml` is the most culture in cans at once, and `held_on` the day of it. `one_barrel` tells
    that everything hangs on a single barrel: a failed batch then has no substitute.
    """

    starts: tuple[Start, ...]
    sprays: tuple[Spray, ...]
    shortages: tuple[Shortage, ...]
    held_ml: int
    held_on: date | None
    one_barrel: bool


def supply(
    today: date,
    rounds: Sequence[Round],
    vessels: Sequence[Vessel],
    culture: Culture,
    *,
    in_hand: Sequence[InHand] = (),
    crew: Crew | None = None,
    spare: float = SPARE,
    seed: int = 0,
    steps: int | None = None,
) -> Supply:
    """The supply plan as of today, the same for the same givens and seed.

    Every round that can be is supplied, inside its days; litres are fungible, so a round may be
    filled from two batches, on a day when both are there. The plan reaches as far as
    `culture.ready_days` does; rounds after that are left for a later plan.
    """
    crew = crew or Crew()
    jobs = _jobs(today, rounds, len(culture.ready_days))
    vessels = sorted(vessels, key=lambda vessel: (-vessel.ml, vessel.free_on, vessel.id))
    case, plan, windows = _brewed(
        jobs,
        crew,
        lambda windows: _case(today, jobs, windows, vessels, culture, in_hand, crew, spare),
        lambda case: brewing(case, seed=seed, steps=steps),
    )
    barrels = barrels_of(case)
    starts = _starts(today, case, plan, barrels, vessels)
    water = [0] * case.days
    for start in starts:
        water[(start.on - today).days] += start.fill_ml - start.kept_ml - start.fresh_ml
    portions, undone = _best_days(jobs, windows, crew, case, plan, water)
    in_cans = held(case, barrels, plan.rows, plan.flow)
    most = max(range(case.days), key=lambda day: in_cans[day], default=0)
    held_ml = ceil(in_cans[most] * 1000) if in_cans else 0
    return Supply(
        starts,
        tuple(
            Spray(
                portion.job_id,
                today + timedelta(days=portion.on),
                portion.tanks,
                portion.culture_ml,
                portion.water_ml,
                portion.hand_id,
                portion.sprayer_id,
            )
            for portion in portions
        ),
        shortages(today, jobs, portions, undone, crew, case, plan),
        held_ml,
        today + timedelta(days=most) if held_ml else None,
        len(vessels) == 1,
    )


def _jobs(today: date, rounds: Iterable[Round], days: int) -> list[Job]:
    """The rounds in days from today; one that is overdue is due today."""
    jobs: list[Job] = []
    for each in rounds:
        latest = min((each.latest_on - today).days, days - 1)
        earliest = max(0, (each.earliest_on - today).days)
        if each.latest_on < today or earliest >= days:
            continue
        jobs.append(
            Job(
                each.id,
                each.member_id,
                earliest,
                min(max((each.on - today).days, earliest), latest),
                latest,
                each.tanks,
                each.culture_ml,
                each.mix_ml - each.culture_ml,
                each.sprayer_id,
            )
        )
    return jobs


def _brewed(
    jobs: Sequence[Job],
    crew: Crew,
    case_of: Callable[[Mapping[str, Window]], Case],
    brew: Callable[[Case], Brewing],
) -> tuple[Case, Brewing, Mapping[str, Window]]:
    """The plan that has culture there by each round's best day; the later days only if need be.

    They are used where that supplies more litres.
    """
    latest = _windows(jobs, crew)
    best = {job.id: (job.earliest, min(job.on, latest[job.id][1])) for job in jobs}
    case = case_of(best)
    plan = brew(case)
    if plan.flow.unmet > 1e-6 and best != latest:
        wide = case_of(latest)
        other = brew(wide)
        if other.flow.unmet < plan.flow.unmet - 1e-6:
            return wide, other, latest
    return case, plan, best


def _windows(jobs: Sequence[Job], crew: Crew) -> dict[str, Window]:
    """By when the culture of each round must be there at the latest.

    Where hands, sprayers or water are limited not everybody can wait for the last day: each
    round's culture is wanted by the day that a schedule as late as possible gives it.
    """
    windows = {job.id: job.window for job in jobs}
    if crew.is_limited:
        portions, _ = scheduled(jobs, crew, late=True)
        for portion in portions:
            earliest, latest = windows[portion.job_id]
            windows[portion.job_id] = earliest, min(latest, portion.on)
    return windows


def _case(  # noqa: PLR0917 - the parts of one question
    today: date,
    jobs: Sequence[Job],
    windows: Mapping[str, Window],
    vessels: Sequence[Vessel],
    culture: Culture,
    in_hand: Sequence[InHand],
    crew: Crew,
    spare: float,
) -> Case:
    sizes: dict[int, list[int]] = {}
    for vessel in vessels:
        sizes.setdefault(vessel.ml, []).append(max(0, (vessel.free_on - today).days))
    return Case(
        days=len(culture.ready_days),
        ready_days=culture.ready_days,
        busy_days=culture.busy_days,
        shelf_days=culture.shelf_days,
        keep_share=culture.keep_share,
        # A big barrel costs a little more to fill than a small one, and less a litre.
        sizes=tuple(
            Size(ml / 1000, 1.75 + ml / 160_000, tuple(free)) for ml, free in sizes.items()
        ),
        wants=merged(
            Want(
                *windows[job.id],
                job.culture_ml * (1 + spare) / 1000,
            )
            for job in jobs
            if job.culture_ml
        ),
        running=tuple(Running((batch.ready_on - today).days, batch.ml / 1000) for batch in in_hand),
        prices=culture.prices,
        held_litres=None if culture.held_ml is None else culture.held_ml / 1000,
        fill_litres=_fill_litres(jobs, crew, len(culture.ready_days)),
    )


def _fill_litres(jobs: Sequence[Job], crew: Crew, days: int) -> tuple[float, ...] | None:
    """What the well gives for barrels on each day, once the rounds of the day are mixed."""
    if crew.water_ml_a_day is None:
        return None
    left = [crew.water_ml_a_day] * days
    for portion in scheduled(jobs, crew)[0]:
        left[portion.on] -= portion.water_ml
    return tuple(ml / 1000 for ml in left)


def _starts(
    today: date,
    case: Case,
    plan: Brewing,
    barrels: Sequence[Barrel],
    vessels: Sequence[Vessel],
) -> tuple[Start, ...]:
    """The starts with their fills in whole litres, the biggest barrels of a day filled first."""
    kept = [0.0] * case.days
    for _, start, litres in plan.flow.kept:
        kept[start] += litres
    chosen: list[Start] = []
    for day, made in enumerate(plan.flow.made):
        left = made
        wanted = made * case.keep_share
        most = None if case.fill_litres is None else int(case.fill_litres[day] * 1000)
        for index, row in enumerate(plan.rows):
            if day not in row or left <= 1e-9:
                continue
            litres = min(case.sizes[barrels[index].size].litres, left)
            left -= litres
            # Whole litres, upward, so that nobody falls short; never above the rim or the well.
            ml = min(ceil(round(litres, 6)) * 1000, vessels[index].ml)
            if most is not None:
                ml = min(ml, most)
                most -= ml
            starter = ceil(ml * case.keep_share)
            from_others = round(starter * min(1.0, kept[day] / wanted)) if starter else 0
            on = today + timedelta(days=day)
            ready_on = today + timedelta(days=case.ready[day])
            chosen.append(
                Start(
                    on,
                    vessels[index].id,
                    ml,
                    from_others,
                    starter - from_others,
                    ready_on,
                    ready_on + timedelta(days=case.shelf_days),
                )
            )
    return tuple(chosen)


def _best_days(
    jobs: Sequence[Job],
    windows: Mapping[str, Window],
    crew: Crew,
    case: Case,
    plan: Brewing,
    water: Sequence[int],
) -> tuple[tuple[Portion, ...], tuple[Undone, ...]]:
    """The schedule near each round's best day, or the late one where that gets more done."""
    tries = []
    for late in (False, True) if crew.is_limited else (False,):
        stock = _stock(jobs, windows, case, plan)
        tries.append(scheduled(jobs, crew, stock, water_taken_ml=water, late=late))
    return min(tries, key=lambda each: sum(undone.tanks for undone in each[1]))


def _stock(jobs: Sequence[Job], windows: Mapping[str, Window], case: Case, plan: Brewing) -> Stock:
    """The culture that the plan sets aside, shared out to the windows of the rounds."""
    wanted: dict[Window, dict[Window, int]] = {}
    for job in jobs:
        shares = wanted.setdefault(windows[job.id], {})
        shares[job.window] = shares.get(job.window, 0) + job.culture_ml
    stock = Stock()
    for source, index, litres in plan.flow.parts:
        ready = case.ready[source] if source >= 0 else case.running[-1 - source].ready
        want = case.wants[index]
        shares = wanted[want.earliest, want.latest]
        total = sum(shares.values())
        for window, ml in shares.items():
            # Upward: a millilitre lost in division must not cost a tank.
            lot = Lot(ready, ready + case.shelf_days, ceil(litres * 1000 * ml / total))
            stock.lots.setdefault(window, []).append(lot)
    return stock
