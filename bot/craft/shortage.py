"""What will be short: when, how much, whose round, and the choices there are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

from bot.craft.brew_case import Case
from bot.craft.brew_rows import barrels_of
from bot.craft.brew_search import Brewing
from bot.craft.spray_days import Crew, Job, Portion, Undone


@dataclass(frozen=True, slots=True)
class Shortage:
    """A round that cannot be done in full, and the choices a keeper has.

    `lacks` is what runs out: culture, water, hands or sprayer. `tanks`, `culture_ml` and
    `water_ml` are what is missing of it, `on` its best day.

    `less_percent` is what each of the rounds of those days would spray, if all gave way alike;
    `move_to` the first day after its last on which there is enough (None: none in this plan).
    The third choice is to borrow what is missing.
    """

    round_id: str
    member_id: str
    on: date
    lacks: str
    tanks: int
    culture_ml: int
    water_ml: int
    less_percent: int
    move_to: date | None


def shortages(
    today: date,
    jobs: Sequence[Job],
    portions: Sequence[Portion],
    undone: Sequence[Undone],
    crew: Crew,
    case: Case,
    plan: Brewing,
) -> tuple[Shortage, ...]:
    """What is short, soonest first."""
    done: dict[str, int] = {}
    for portion in portions:
        done[portion.job_id] = done.get(portion.job_id, 0) + portion.tanks
    found: list[Shortage] = []
    for each in sorted(undone, key=lambda each: (each.job.on, each.job.id)):
        job = each.job
        culture_ml = ceil(job.culture_ml * each.tanks / job.tanks)
        water_ml = ceil(job.water_ml * each.tanks / job.tanks)
        beside = [
            other for other in jobs if other.earliest <= job.latest and job.earliest <= other.latest
        ]
        wanted = sum(other.tanks for other in beside)
        got = sum(done.get(other.id, 0) for other in beside)
        if each.lacks == "culture":
            day = _culture_after(case, plan, job.latest, culture_ml / 1000)
        else:
            day = _crew_after(crew, portions, case.days, each, water_ml)
        found.append(
            Shortage(
                job.id,
                job.member_id,
                today + timedelta(days=job.on),
                each.lacks,
                each.tanks,
                culture_ml,
                water_ml,
                100 * got // wanted,
                None if day is None else today + timedelta(days=day),
            )
        )
    return tuple(found)


def _culture_after(case: Case, plan: Brewing, latest: int, litres: float) -> int | None:
    """The first later day on which a batch of the plan could be fuller by so much."""
    room = [0.0] * case.days
    for barrel, row in zip(barrels_of(case), plan.rows, strict=True):
        for start in row:
            room[start] += case.sizes[barrel.size].litres
    later = (
        case.ready[start]
        for start, made in enumerate(plan.flow.made)
        if made > 0 and case.ready[start] > latest and room[start] - made >= litres
    )
    return min(later, default=None)


def _crew_after(
    crew: Crew, portions: Sequence[Portion], days: int, undone: Undone, water_ml: int
) -> int | None:
    """The first later day on which hands, sprayers and water together have room for the rest."""
    for day in range(undone.job.latest + 1, days):
        today = [portion for portion in portions if portion.on == day]
        tanks = sum(portion.tanks for portion in today)
        limits = [
            sum(one.tanks_a_day for one in some if day not in one.away)
            for some in (crew.hands, crew.sprayers)
            if some
        ]
        water = sum(portion.water_ml for portion in today)
        enough_water = crew.water_ml_a_day is None or crew.water_ml_a_day - water >= water_ml
        if enough_water and all(limit - tanks >= undone.tanks for limit in limits):
            return day
    return None
