"""Who sprays on which day with whose sprayer: hands, sprayers, water and culture in whole tanks.

Days are counted from today (0).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

Window = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Job:
    """A round to be done: best on `on`, possible from `earliest` to `latest` (inclusive).

    `sprayer_id` is the member's own sprayer, or empty. Amounts are of all its tanks together.
    """

    id: str
    member_id: str
    earliest: int
    on: int
    latest: int
    tanks: int
    culture_ml: int
    water_ml: int
    sprayer_id: str = ""

    @property
    def window(self) -> Window:
        """The first and last day it can be done on."""
        return self.earliest, self.latest


@dataclass(frozen=True, slots=True)
class Hand:
    """A member who sprays: how many tanks a day, and the days away."""

    id: str
    tanks_a_day: int
    away: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Sprayer:
    """A sprayer of the group: whose it is, how many tanks it covers a day, days it is not there."""

    id: str
    owner_id: str
    tanks_a_day: int
    away: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Crew:
    """What the group has to spray with. Without hands, or sprayers, or water named: no limit."""

    hands: tuple[Hand, ...] = ()
    sprayers: tuple[Sprayer, ...] = ()
    water_ml_a_day: int | None = None
    shut: frozenset[int] = frozenset()
    """Days on which nobody sprays, as a market day; a round that has no other day keeps its own."""

    @property
    def is_limited(self) -> bool:
        """Whether anything but culture can run out."""
        return bool(self.hands or self.sprayers) or self.water_ml_a_day is not None


@dataclass(frozen=True, slots=True)
class Portion:
    """Tanks of a round on one day: who sprays them (`hand_id`), with which sprayer.

    Without named hands the member of the round sprays; without named sprayers with the own one.
    """

    job_id: str
    on: int
    tanks: int
    culture_ml: int
    water_ml: int
    hand_id: str
    sprayer_id: str


@dataclass(frozen=True, slots=True)
class Undone:
    """Tanks of a round that found no day, and what ran out: culture, water, sprayer or hands."""

    job: Job
    tanks: int
    lacks: str


@dataclass(frozen=True, slots=True)
class Lot:
    """Culture of one batch set aside for the rounds of one window: usable on `ready..until`."""

    ready: int
    until: int
    ml: int


@dataclass(slots=True)
class Stock:
    """Culture set aside for each window; None of a window means there is none for it."""

    lots: dict[Window, list[Lot]] = field(default_factory=dict)

    def on_day(self, window: Window, day: int) -> int:
        """Millilitres that rounds of the window may draw on a day."""
        return sum(lot.ml for lot in self.lots.get(window, ()) if lot.ready <= day <= lot.until)

    def draw(self, window: Window, day: int, ml: int) -> None:
        """Take so much away, what expires first first."""
        left = ml
        lots = self.lots[window]
        for index in sorted(range(len(lots)), key=lambda each: lots[each].until):
            lot = lots[index]
            if lot.ready <= day <= lot.until:
                taken = min(left, lot.ml)
                left -= taken
                lots[index] = Lot(lot.ready, lot.until, lot.ml - taken)


class _Left:
    """What is left of hands, sprayers and water day by day."""

    def __init__(self, crew: Crew, water_taken_ml: Sequence[int]) -> None:
        self.crew = crew
        self.taken: dict[tuple[str, str, int], int] = {}
        self.totals: dict[tuple[str, int], int] = {}
        self.water: dict[int, int] = dict(enumerate(water_taken_ml))

    def water_ml(self, day: int) -> int | None:
        most = self.crew.water_ml_a_day
        return None if most is None else max(0, most - self.water.get(day, 0))

    def tanks(self, what: str, day: int) -> int | None:
        """Tanks that all hands, or all sprayers, have left on a day; None without a limit."""
        some: Sequence[Hand | Sprayer] = getattr(self.crew, what)
        if not some:
            return None
        if (what, day) not in self.totals:
            self.totals[what, day] = sum(one.tanks_a_day for one in some if day not in one.away)
        return self.totals[what, day]

    def pairs(self, job: Job, day: int, most: int) -> Iterator[tuple[str, str, int]]:
        """Hands with sprayers and the tanks each pair does: one's own first, then who has most.

        Together never more than `most`.
        """
        hands = self._ranked("hands", job.member_id, day, most)
        sprayers = self._ranked("sprayers", job.sprayer_id, day, most)
        hand, sprayer = ("", 0), ("", 0)
        waiting = most
        while waiting > 0:
            hand = hand if hand[1] else next(hands)
            sprayer = sprayer if sprayer[1] else next(sprayers)
            tanks = min(waiting, hand[1], sprayer[1])
            waiting -= tanks
            yield hand[0], sprayer[0], tanks
            hand = hand[0], hand[1] - tanks
            sprayer = sprayer[0], sprayer[1] - tanks

    def _ranked(self, what: str, own: str, day: int, most: int) -> Iterator[tuple[str, int]]:
        """Who has tanks left on a day: the own one first, then the others, most left first."""
        some: Sequence[Hand | Sprayer] = getattr(self.crew, what)
        return self._by_left(what, some, own, day) if some else iter([(own, most)])

    def _by_left(
        self, what: str, some: Sequence[Hand | Sprayer], own: str, day: int
    ) -> Iterator[tuple[str, int]]:
        left = {
            one.id: one.tanks_a_day - self.taken.get((what, one.id, day), 0)
            for one in some
            if day not in one.away
        }
        if left.get(own, 0) > 0:
            yield own, left[own]
        # Sorted only if one's own do not do: a big group has hundreds.
        others = sorted(left, key=lambda each: (-left[each], each))
        yield from ((each, left[each]) for each in others if each != own and left[each] > 0)

    def take(self, portion: Portion) -> None:
        day = portion.on
        for what, who in (("hands", portion.hand_id), ("sprayers", portion.sprayer_id)):
            if self.tanks(what, day) is not None:
                self.totals[what, day] -= portion.tanks
                key = what, who, day
                self.taken[key] = self.taken.get(key, 0) + portion.tanks
        self.water[day] = self.water.get(day, 0) + portion.water_ml


def scheduled(
    jobs: Sequence[Job],
    crew: Crew,
    stock: Stock | None = None,
    *,
    water_taken_ml: Sequence[int] = (),
    late: bool = False,
) -> tuple[tuple[Portion, ...], tuple[Undone, ...]]:
    """The days of each round, and what found none.

    Who must be done first chooses first. A round goes whole onto the day nearest to its best one
    that has room for all of it, else tank by tank onto several. With `late` each goes as late as
    it can: the last days by which its culture must be there. Without a stock culture is no limit.
    """
    left = _Left(crew, water_taken_ml)
    portions: list[Portion] = []
    undone: list[Undone] = []
    for job in sorted(jobs, key=_late_order if late else _order):
        days = _late_days(job) if late else _near_days(job)
        days = [day for day in days if day not in crew.shut] or days
        waiting = job.tanks
        whole = (day for day in days if _room(left, stock, job, day, waiting) >= waiting)
        best = next(whole, None)
        for day in days if best is None else (best,):
            # Asked again: what another day drew from the stock is gone on this one, too.
            room = _room(left, stock, job, day, waiting)
            for portion in _portions(left, job, day, room, job.tanks - waiting):
                left.take(portion)
                if stock is not None and portion.culture_ml:
                    stock.draw(job.window, day, portion.culture_ml)
                portions.append(portion)
                waiting -= portion.tanks
        if waiting:
            undone.append(Undone(job, waiting, _lack(left, stock, job, days)))
    return tuple(portions), tuple(undone)


def _order(job: Job) -> tuple[int, int, str]:
    return job.latest, job.on, job.id


def _late_order(job: Job) -> tuple[int, int, str]:
    return -job.earliest, -job.on, job.id


def _near_days(job: Job) -> list[int]:
    """Nearest to the best day first; of two as near the later, when more culture is ready."""
    days = range(job.earliest, job.latest + 1)
    return sorted(days, key=lambda day: (abs(day - job.on), -day))


def _late_days(job: Job) -> list[int]:
    return list(range(job.latest, job.earliest - 1, -1))


def _share(whole: int, tanks: int, of: int) -> int:
    """The amount in the first so many tanks, to the millilitre; all tanks give the whole."""
    return whole * tanks // of


def _portions(left: _Left, job: Job, day: int, tanks: int, done: int) -> Iterator[Portion]:
    before = done
    for hand_id, sprayer_id, some in list(left.pairs(job, day, tanks)):
        after = before + some
        culture = _share(job.culture_ml, after, job.tanks) - _share(
            job.culture_ml, before, job.tanks
        )
        water = _share(job.water_ml, after, job.tanks) - _share(job.water_ml, before, job.tanks)
        yield Portion(job.id, day, some, culture, water, hand_id, sprayer_id)
        before = after


def _room(left: _Left, stock: Stock | None, job: Job, day: int, waiting: int) -> int:
    """Whole tanks of a round that a day has room for: any hand can take any sprayer."""
    limits = [waiting, left.tanks("hands", day), left.tanks("sprayers", day)]
    water = left.water_ml(day)
    if water is not None:
        limits.append(_tanks_of(water, job.water_ml, job.tanks, waiting))
    if stock is not None:
        limits.append(_tanks_of(stock.on_day(job.window, day), job.culture_ml, job.tanks, waiting))
    return min(limit for limit in limits if limit is not None)


def _tanks_of(ml: int, whole_ml: int, tanks: int, waiting: int) -> int:
    """How many of the tanks still to do an amount fills; the largest a tank can take is counted."""
    if not whole_ml:
        return waiting
    left_ml = whole_ml - _share(whole_ml, tanks - waiting, tanks)
    return waiting if ml >= left_ml else ml // -(-whole_ml // tanks)


def _lack(left: _Left, stock: Stock | None, job: Job, days: Sequence[int]) -> str:
    """What kept a round from its days: culture on all of them, else what ran out first."""
    day = next(
        (
            day
            for day in days
            if stock is None
            or _tanks_of(stock.on_day(job.window, day), job.culture_ml, job.tanks, 1)
        ),
        None,
    )
    if day is None:
        return "culture"
    if left.tanks("hands", day) == 0:
        return "hands"
    return "sprayer" if left.tanks("sprayers", day) == 0 else "water"
