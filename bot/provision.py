"""Enough culture on spray day: the group's own record as a supply plan."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

from bot.craft import batches
from bot.craft.batches import Batch
from bot.craft.circle import Circle
from bot.craft.recipe import Recipe
from bot.craft.round_plan import Rounds
from bot.craft.shortage import Shortage
from bot.craft.spray_days import Crew, Hand, Sprayer
from bot.craft.supply import Culture, InHand, Round, Supply, Vessel, supply
from bot.records.book import Book
from bot.records.together import circle_of, everyones

USUAL_RECIPE = "mother"
MOST_DAYS = 120
"""A plan reaches no further than the rounds of a season do."""
STEPS = 1000
"""Tries of the search: enough for the few barrels of a circle; see tests/benchmarks/supply."""
NO_LIMIT = 999
"""Tanks a day of somebody who named none."""
FORECAST_EVERY = 5


@dataclass(frozen=True, slots=True)
class Provision:
    """The plan of one kind of culture: what was asked for, and what came out."""

    recipe: Recipe
    rounds: Mapping[str, tuple[Rounds, date]]
    barrels: Mapping[str, tuple[str, int]]
    """Short name and millilitres of each barrel, by its identity."""
    wanted_ml: int
    in_hand_ml: int
    plan: Supply

    @property
    def until(self) -> date:
        """The day of the last round that was looked at."""
        return max(day for _plan, day in self.rounds.values())


def provisions(book: Book) -> tuple[Provision, ...]:
    """The supply plan of each kind of culture that rounds want, the most wanted first.

    A barrel brews what it brewed last; an empty one of a kind nobody wants goes to the most
    wanted. Rounds that wait for the rain to end are looked at as if it were dry tomorrow.
    """
    circle = circle_of(book)
    wanted: dict[str, list[tuple[Rounds, date, Round]]] = {}
    for plan in everyones(book):
        for each in _rounds(plan, book, circle):
            wanted.setdefault(plan.dose.recipe or USUAL_RECIPE, []).append(each)
    by_litres = sorted(wanted, key=lambda kind: -sum(each[2].culture_ml for each in wanted[kind]))
    known = [kind for kind in by_litres if kind in book.recipes]
    barrels = [each for each in book.open(batches.SUBJECT, batches.fold) if each.size_ml]
    found: list[Provision] = []
    for kind in known:
        mine = [
            each
            for each in barrels
            if each.recipe == kind
            or (kind == known[0] and not each.is_live and each.recipe not in known)
        ]
        found.append(_provision(book, circle, book.recipes[kind], wanted[kind], mine))
    return tuple(found)


def _rounds(plan: Rounds, book: Book, circle: Circle) -> list[tuple[Rounds, date, Round]]:
    """The coming rounds of a plan, each with the days it may be moved by."""
    owner = book.owner_of(plan.id)
    own = next((each.id for each in circle.sprayers.values() if each.owner_id == owner), "")
    found = []
    for need in plan.needs():
        if (need.on - book.today).days >= MOST_DAYS:
            continue
        tanks = ceil(need.mix_ml / plan.dose.tank_ml) if plan.dose.tank_ml else 1
        days = need.earliest_on, need.on, need.latest_on
        amounts = tanks, need.culture_ml, need.mix_ml
        found.append((plan, need.on, Round(f"{plan.id} {need.on}", owner, *days, *amounts, own)))
    return found


def _provision(
    book: Book,
    circle: Circle,
    recipe: Recipe,
    wanted: Sequence[tuple[Rounds, date, Round]],
    barrels: Sequence[Batch],
) -> Provision:
    today = book.today
    rounds = [each for _plan, _day, each in wanted]
    days = (max(each.latest_on for each in rounds) - today).days + 1
    vessels, in_hand = _stock(book, recipe, barrels)
    in_hand += [
        InHand(f"borrowed {n}", lent.on, lent.ml)
        for n, lent in enumerate(circle.borrowed)
        if lent.recipe == recipe.kind
    ]
    ready, busy = _expected(book, recipe, days)
    culture = Culture(
        ready,
        busy,
        shelf_days=recipe.shelf_days,
        keep_share=float(recipe.keep_back or 0),
        held_ml=circle.cans_ml,
    )
    plan = supply(
        today,
        rounds,
        vessels,
        culture,
        in_hand=in_hand,
        crew=_crew(book, circle, rounds, days),
        spare=circle.spare_percent / 100,
        steps=STEPS,
    )
    last_good = today - timedelta(days=recipe.shelf_days)
    return Provision(
        recipe,
        {each.id: (plan, day) for plan, day, each in wanted},
        {each.id: (each.code, each.size_ml) for each in barrels},
        sum(each.culture_ml for each in rounds),
        sum(each.ml for each in in_hand if last_good <= each.ready_on <= today),
        plan,
    )


def _stock(
    book: Book, recipe: Recipe, barrels: Sequence[Batch]
) -> tuple[list[Vessel], list[InHand]]:
    """The barrels with the days they are free, and what they hold or will hold."""
    vessels: list[Vessel] = []
    in_hand: list[InHand] = []
    for batch in barrels:
        free_on = book.today
        if batch.state == "fermenting":
            ready_on, likely_on = book.expected_on(batch, recipe)
            free_on = likely_on + timedelta(days=1)
            in_hand.append(InHand(batch.id, ready_on, batch.left_ml))
        elif batch.state == "ready":
            in_hand.append(InHand(batch.id, batch.ready_on or book.today, batch.left_ml))
        vessels.append(Vessel(batch.id, batch.size_ml, free_on))
    return vessels, in_hand


def _expected(book: Book, recipe: Recipe, days: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """For a start on each day: the cautious days until it is ready, and those its barrel is busy.

    Usual warmth changes slowly: a forecast stands for some days.
    """
    seen = [
        book.expected_days(recipe, book.today + timedelta(days=first))
        for first in range(0, days, FORECAST_EVERY)
    ]
    each_day = [seen[day // FORECAST_EVERY] for day in range(days)]
    return tuple(ready for ready, _ in each_day), tuple(busy + 1 for _, busy in each_day)


def _crew(book: Book, circle: Circle, rounds: Sequence[Round], days: int) -> Crew:
    """Hands, sprayers and water, as far as anybody named them.

    Whoever named no tanks a day has no limit; once sprayers are named, all others borrow one.
    """
    hands: tuple[Hand, ...] = ()
    if circle.hands:
        owners = dict.fromkeys([*circle.hands, *(each.member_id for each in rounds)])
        hands = tuple(Hand(who, circle.hands.get(who, NO_LIMIT)) for who in owners)
    sprayers = tuple(
        Sprayer(each.id, each.owner_id, each.tanks_a_day) for each in circle.sprayers.values()
    )
    shut = frozenset(day for day in range(days) if circle.closed(book.today + timedelta(days=day)))
    return Crew(hands, sprayers, circle.well_ml_a_day, shut)


# --- what is said of it -----------------------------------------------------------------------


def shortages_of(found: Iterable[Provision]) -> list[tuple[Shortage, Provision]]:
    """Every shortage with its plan, the soonest first."""
    short = [(each, one) for one in found for each in one.plan.shortages]
    return sorted(short, key=lambda pair: pair[0].on)
