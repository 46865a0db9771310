"""A plan of rounds as it stands: what was done, what is owed, the dates to come."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from bot.craft.dose import Dose
from bot.craft.harvest import Harvest
from bot.craft.replan import Calendar, Pace, replan
from bot.craft.spans import Span

_DAY = timedelta(days=1)
# How far ahead a plan without a number of rounds is laid out, in days.
HORIZON_DAYS = 120


@dataclass(frozen=True, slots=True)
class Done:
    """A round that was done. `repeat` tells that it made good one that rain had taken off."""

    on: date
    mix_ml: int
    culture_ml: int
    member_id: str = ""
    repeat: bool = False
    washed: bool = False


@dataclass(frozen=True, slots=True)
class Need:
    """Culture that will be wanted: best on one day, possible from `earliest_on` to `latest_on`."""

    rounds_id: str
    on: date
    earliest_on: date
    latest_on: date
    culture_ml: int
    mix_ml: int


@dataclass(frozen=True, slots=True)
class Rounds:
    """A plan of rounds as its entries left it, with the dates that stood on `as_of`.

    `dates` are the rounds to come (the first may repeat a washed one: `repeat`), `dropped` how
    many are owed but no longer fit. A date that passed in silence is in `unreported`: neither
    done nor owed any more once the next date has come. `times` None goes on until the harvest.
    """

    id: str
    code: str
    group_id: str
    zone: str
    as_of: date
    crop: str = ""
    plot_id: str = ""
    dose: Dose = field(default_factory=Dose)
    pace: Pace = field(default_factory=lambda: Pace(1, 1))
    times: int | None = None
    start_on: date | None = None
    harvest: Harvest = field(default_factory=Harvest)
    done: tuple[Done, ...] = ()
    skipped: tuple[date, ...] = ()
    unreported: tuple[date, ...] = ()
    dates: tuple[date, ...] = ()
    dropped: int = 0
    repeat: bool = False
    held: bool = False
    ended: bool = False
    settled: int = 0
    wanted_on: date | None = None
    moved_to: date | None = None
    less: tuple[tuple[int, int], ...] = ()
    """Rounds that spray less because culture is short: number of the round, percent of its mix."""
    shut_spans: tuple[Span, ...] = ()
    shut_weekdays: frozenset[int] = frozenset()

    @property
    def next_on(self) -> date | None:
        """The day of the next round, if there is one."""
        return self.dates[0] if self.dates else None

    @property
    def left(self) -> int | None:
        """How many rounds are still owed, a repeat not counted; None for a plan without number."""
        return None if self.times is None else max(0, self.times - self.settled)

    def number(self, day: date) -> int:
        """Which round of the plan a coming date is, from 1; a repeat bears its round's number.

        Raises:
            ValueError: no round stands on that day.
        """
        return self.settled + self.dates.index(day) + (not self.repeat)

    def dose_on(self, day: date) -> Dose:
        """What the round of a coming date takes: the plan's dose, or less where that was settled.

        Raises:
            ValueError: no round stands on that day.
        """
        percent = dict(self.less).get(self.number(day), 100)
        if percent == 100:
            return self.dose
        # Down to a tenth of a litre: nobody measures finer.
        mix_ml = self.dose.mix_ml * percent // 100
        return replace(self.dose, mix_ml=max(mix_ml - mix_ml % 100, 1))

    def is_last(self, day: date) -> bool:
        """Whether no round follows the one on this day."""
        ends = self.times is not None or self.harvest.last_round_on is not None
        return ends and self.dates[-1:] == (day,)

    def is_open(self, day: date) -> bool:
        """Whether a round could be done on this day, by the harvest and the people's calendar."""
        return (
            day.weekday() not in self.shut_weekdays
            and not any(span.holds(day) for span in self.shut_spans)
            and self.harvest.is_open(day)
        )

    def ahead(self, today: date) -> Rounds:
        """The same plan as it stands today: what passed in silence is closed or due at once."""
        return laid_out(closed(replace(self, as_of=max(self.as_of, today)), today))

    def needs(self) -> tuple[Need, ...]:
        """What culture the coming dates want, each with the days it may move by.

        A round may move a fifth of its interval either way, never nearer to its neighbours than
        the minimum, before `as_of`, or past the harvest guard.
        Source: a fifth is common practice, no source (2 days of 10, 3 of 15).
        """
        sway = min(self.pace.interval_days // 5, self.pace.interval_days - self.pace.minimum_days)
        low = self.as_of
        if self.done and not self.repeat:
            low = max(low, self.done[-1].on + self.pace.minimum_days * _DAY)
        needs: list[Need] = []
        for day in self.dates:
            earliest = min(day, max(day - sway * _DAY, low))
            while not self.is_open(earliest):
                earliest += _DAY
            latest = day + sway * _DAY
            while not self.is_open(latest):
                latest -= _DAY
            dose = self.dose_on(day)
            needs.append(Need(self.id, day, earliest, latest, dose.culture_ml, dose.mix_ml))
        return tuple(needs)


def closed(rounds: Rounds, on: date) -> Rounds:
    """Dates that passed in silence are closed once the next one has been announced.

    A round is announced the evening before, so that evening already belongs to it.
    """
    passed = sum(1 for day in rounds.dates[1:] if day - _DAY <= on)
    if not passed:
        return rounds
    return replace(
        rounds,
        unreported=rounds.unreported + rounds.dates[:passed],
        settled=rounds.settled + passed - rounds.repeat,
        repeat=False,
        wanted_on=rounds.dates[passed],
        moved_to=None,
        dates=rounds.dates[passed:],
    )


def laid_out(rounds: Rounds) -> Rounds:
    """The plan with its coming dates worked out anew."""
    if rounds.ended or rounds.held or not rounds.dose.mix_ml:
        return replace(rounds, dates=(), dropped=0)
    done_on = None if rounds.repeat or not rounds.done else rounds.done[-1].on
    calendar = Calendar(_first_on(rounds), rounds.harvest.last_round_on, rounds.is_open)
    owed = rounds.left if rounds.left is not None else _open_ended(rounds, done_on)
    found = replan(
        calendar,
        rounds.pace,
        owed + rounds.repeat,
        done_on=done_on,
        wanted_on=None if rounds.repeat else rounds.wanted_on,
        moved_to=rounds.moved_to,
    )
    dropped = found.dropped if rounds.times is not None else 0
    return replace(rounds, dates=found.dates, dropped=dropped)


def _first_on(rounds: Rounds) -> date:
    """The first day a round may stand on: not before the start that was named, unless moved."""
    if rounds.done or rounds.start_on is None:
        return rounds.as_of
    return max(rounds.as_of, min(rounds.start_on, rounds.moved_to or rounds.start_on))


def _open_ended(rounds: Rounds, done_on: date | None) -> int:
    """How many rounds of a plan without number lie before the guard or the horizon."""
    step = rounds.pace.interval_days
    first = _first_on(rounds)
    if done_on is not None:
        first = max(first, done_on + step * _DAY)
    first = max(first, rounds.moved_to or rounds.wanted_on or first)
    horizon = rounds.as_of + HORIZON_DAYS * _DAY
    end = min(rounds.harvest.last_round_on or horizon, horizon)
    return max(0, (end - first).days // step + 1)
