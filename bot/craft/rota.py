"""Whose turn it is to stir: fair by availability, with swaps, and never nobody.

Each day the turn is shared out: everyone who could take it earns an equal part, and whoever takes
it pays a whole one. Whoever has earned most is next. Being away earns nothing and owes nothing.
Source: the credit method of R. Fagin and J. H. Williams, "A fair carpool scheduling algorithm",
IBM J. Res. Dev. 27 (1983); from memory.

Entries of a rota (days are ISO text; `who` is a member's id, else who wrote is meant):

| kind | data |
|---|---|
| joined, left | who (one or, joining, several), weekdays: tends the barrels from then on, on \
weekdays (0 is Monday) |
| keeper | who: is asked when nobody else has stirred |
| free | who, weekdays: the weekdays somebody can |
| away, back | who, from_on, until_on (inclusive; else on): cannot, or can after all |
| swap | on, who: takes the turn of that day |
| stirred | on, who: it was done |
| missed | on: who had the turn did not; it passes to the next |
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from bot.craft.entries import Entry, Head
from bot.craft.spans import of_entry, weekdays_of

SUBJECT = "rota"
_DAY = timedelta(days=1)
# A whole turn in parts that every number of people up to 16 divides: 720 720.
TURN = 720_720


@dataclass(frozen=True, slots=True)
class Tender:
    """Somebody who stirs: on which weekdays, and the days away. `earned` is in parts of a turn."""

    member_id: str
    weekdays: frozenset[int] = frozenset(range(7))
    away: frozenset[date] = frozenset()
    earned: int = 0

    def can(self, day: date) -> bool:
        """Whether the turn of a day can be theirs."""
        return day.weekday() in self.weekdays and day not in self.away


@dataclass(frozen=True, slots=True)
class Turn:
    """The turn of a day: who is asked, who after them, at last the keeper.

    `state` is done, missed (the turn was passed on) or not_reported; `by` who stirred.
    """

    on: date
    chain: tuple[str, ...]
    state: str = "not_reported"
    by: str = ""
    passed: int = 0

    @property
    def holder(self) -> str:
        """Who has the turn now: one further down the chain for each time it was missed."""
        return self.chain[min(self.passed, len(self.chain) - 1)] if self.chain else ""


@dataclass(frozen=True, slots=True)
class Rota:
    """The turns as the entries left them. `past` are the days before `as_of`, oldest first."""

    id: str
    code: str
    group_id: str
    as_of: date
    tenders: Mapping[str, Tender] = field(default_factory=dict)
    keepers: tuple[str, ...] = ()
    taken: Mapping[date, str] = field(default_factory=dict)
    missed: Mapping[date, int] = field(default_factory=dict)
    stirred: Mapping[date, str] = field(default_factory=dict)
    past: tuple[Turn, ...] = ()

    def turn(self, on: date) -> Turn:
        """The turn of today or a later day, if everybody until then stirs when it is theirs.

        Raises:
            ValueError: the day is past; see `past`.
        """
        if on < self.as_of:
            raise ValueError("the turns of past days are in `past`")
        return self.turn_among(_until(self, on).tenders, on)

    def turns(self, days: int) -> tuple[Turn, ...]:
        """The turns of so many days from today."""
        found: list[Turn] = []
        rota = self
        for _ in range(days):
            found.append(rota.turn_among(rota.tenders, rota.as_of))
            rota = _until(rota, rota.as_of + _DAY)
        return tuple(found)

    def turn_among(self, tenders: Mapping[str, Tender], on: date) -> Turn:
        """The turn of a day among people who have earned so much by then."""
        ranked = sorted(
            (tender for tender in tenders.values() if tender.can(on)),
            key=lambda tender: -tender.earned,
        )
        order = [tender.member_id for tender in ranked]
        if on in self.taken:
            order.insert(0, self.taken[on])
        # The first, the next, then the keepers: nobody further is woken for one barrel.
        chain = tuple(dict.fromkeys((*tuple(dict.fromkeys(order))[:2], *self.keepers)))
        by = self.stirred.get(on, "")
        passed = self.missed.get(on, 0)
        state = "done" if by else "missed" if passed else "not_reported"
        return Turn(on, chain, state, by, passed)


def fold(head: Head, entries: Sequence[Entry]) -> Rota:
    """The rota that these entries (oldest first) make, as of the day of the last."""
    rota = Rota(head.id, head.code, head.group_id, head.said_on(Entry("", head.opened_at)))
    for entry in entries:
        rota = _until(rota, head.said_on(entry))
        change = _CHANGES.get(entry.kind)
        if change is not None:
            rota = change(rota, entry, head.day_of(entry), entry.text("who", entry.member_id))
    return rota


def among(rota: Rota, members: Collection[str], keepers: Sequence[str]) -> Rota:
    """The same rota for the people who are in the group now; keepers are asked last."""
    here = {name: each for name, each in rota.tenders.items() if name in members}
    taken = {day: name for day, name in rota.taken.items() if name in members}
    return replace(rota, tenders=here, taken=taken, keepers=tuple(keepers))


def ahead(rota: Rota, today: date) -> Rota:
    """The same rota as of today: days that passed are settled."""
    return _until(rota, today)


def _until(rota: Rota, day: date) -> Rota:
    """Every day before this one settled: who stirred pays a turn, all who could earn their part.

    A day nobody reported is paid by whoever was asked: the turns go round, and the record still
    says not reported. A turn that was missed is paid by who took it over.
    """
    past = list(rota.past)
    tenders = dict(rota.tenders)
    on = rota.as_of
    while on < day:
        turn = rota.turn_among(tenders, on)
        past.append(turn)
        payer = turn.by or turn.holder
        could = [tender.member_id for tender in tenders.values() if tender.can(on)]
        for who in could:
            tenders[who] = _earn(tenders[who], TURN // len(could))
        if payer in tenders:
            tenders[payer] = _earn(tenders[payer], -TURN)
        on += _DAY
    return replace(rota, as_of=on, tenders=tenders, past=tuple(past))


def _earn(tender: Tender, parts: int) -> Tender:
    return replace(tender, earned=tender.earned + parts)


# --- what each kind of entry changes ----------------------------------------------------------


def _joined(rota: Rota, entry: Entry, on: date, who: str) -> Rota:
    several = entry.data.get("who")
    if isinstance(several, list | tuple):
        for each in several:
            rota = _joined(rota, replace(entry, data={**entry.data, "who": each}), on, str(each))
        return rota
    if who in rota.tenders:
        return _free(rota, entry, on, who)
    weekdays = weekdays_of(entry) or frozenset(range(7))
    return replace(rota, tenders={**rota.tenders, who: Tender(who, weekdays)})


def _left(rota: Rota, _entry: Entry, _on: date, who: str) -> Rota:
    return replace(
        rota,
        tenders={name: tender for name, tender in rota.tenders.items() if name != who},
        keepers=tuple(keeper for keeper in rota.keepers if keeper != who),
        taken={day: taker for day, taker in rota.taken.items() if taker != who},
    )


def _keeper(rota: Rota, _entry: Entry, _on: date, who: str) -> Rota:
    return replace(rota, keepers=tuple(dict.fromkeys((*rota.keepers, who))))


def _free(rota: Rota, entry: Entry, _on: date, who: str) -> Rota:
    weekdays = weekdays_of(entry)
    if who not in rota.tenders or not weekdays:
        return rota
    return _with(rota, replace(rota.tenders[who], weekdays=weekdays))


def _away(rota: Rota, entry: Entry, on: date, who: str) -> Rota:
    if who not in rota.tenders:
        return rota
    tender = rota.tenders[who]
    days = frozenset(of_entry(entry, on).days())
    taken = {day: taker for day, taker in rota.taken.items() if taker != who or day not in days}
    return _with(replace(rota, taken=taken), replace(tender, away=tender.away | days))


def _back(rota: Rota, entry: Entry, on: date, who: str) -> Rota:
    if who not in rota.tenders:
        return rota
    tender = rota.tenders[who]
    return _with(rota, replace(tender, away=tender.away - frozenset(of_entry(entry, on).days())))


def _swap(rota: Rota, _entry: Entry, on: date, who: str) -> Rota:
    return replace(rota, taken={**rota.taken, on: who}) if who in rota.tenders else rota


def _stirred(rota: Rota, _entry: Entry, on: date, who: str) -> Rota:
    rota = replace(rota, stirred={**rota.stirred, on: rota.stirred.get(on, who)})
    # Told a day late: the record is put right; the turns have gone round already.
    past = tuple(
        replace(turn, state="done", by=turn.by or who) if turn.on == on else turn
        for turn in rota.past
    )
    return replace(rota, past=past)


def _missed(rota: Rota, _entry: Entry, on: date, _who: str) -> Rota:
    return replace(rota, missed={**rota.missed, on: rota.missed.get(on, 0) + 1})


def _with(rota: Rota, tender: Tender) -> Rota:
    return replace(rota, tenders={**rota.tenders, tender.member_id: tender})


_CHANGES: Mapping[str, Callable[[Rota, Entry, date, str], Rota]] = {
    "joined": _joined,
    "left": _left,
    "keeper": _keeper,
    "free": _free,
    "away": _away,
    "back": _back,
    "swap": _swap,
    "stirred": _stirred,
    "missed": _missed,
}
