"""What a group knows of itself: its days and hours, rain, rest, and what it has to spray with.

Entries of a circle (days are ISO text, hours "06:30", `on` the day spoken of):

| kind | data |
|---|---|
| blocked, opened | weekdays (0 is Monday), or from_on and until_on (inclusive; else on); reason: \
market, feast, rest, other; opened with a reason opens only what was shut for it |
| fasting | from_on, until_on, from_hour, until_hour: in these hours nobody is asked for anything |
| rest | from_on, until_on: the season without brewing |
| hold, release | every round waits for the rain to end, or goes on |
| well | ml_a_day |
| cans | ml |
| hand | who, tanks_a_day; 0 takes somebody off |
| sprayer | sprayer_id, owner_id, tanks_a_day; 0 takes it off |
| rains | on: the first rains have come |
| planned | the supply is planned: keepers hear what to start |
| borrowed | on, ml, recipe: culture that comes from elsewhere |
| shaken | why (spoilt, moved), code: something happened that the plan must be made anew for |
| spare | percent: culture planned beyond what is wanted |
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta

from bot.craft.entries import Entry, Head
from bot.craft.spans import Span, cut, of_entry, weekdays_of

SUBJECT = "circle"
_DAY = timedelta(days=1)
# Source: findings of our own simulation; see bot.craft.supply.
SPARE_PERCENT = 10


@dataclass(frozen=True, slots=True)
class Shut:
    """Days on which nobody sprays, and why."""

    span: Span
    reason: str


@dataclass(frozen=True, slots=True)
class Fasting:
    """Hours of some days in which nobody is asked for work: from the first up to the second.

    Hours may run over midnight.
    """

    span: Span
    from_hour: time
    until_hour: time

    def holds(self, day: date, wall: time) -> bool:
        """Whether a wall time falls into it; the last hour is open."""
        if not self.span.holds(day):
            return False
        if self.from_hour <= self.until_hour:
            return self.from_hour <= wall < self.until_hour
        return wall >= self.from_hour or wall < self.until_hour


@dataclass(frozen=True, slots=True)
class Shared:
    """A sprayer the group can use."""

    id: str
    owner_id: str
    tanks_a_day: int


@dataclass(frozen=True, slots=True)
class Borrowed:
    """Culture of a kind that comes from elsewhere, usable from a day."""

    on: date
    ml: int
    recipe: str


@dataclass(frozen=True, slots=True)
class Shaken:
    """Something happened, at a moment, that makes a plan of before worthless."""

    at: datetime
    why: str
    code: str


@dataclass(frozen=True, slots=True)
class Circle:
    """A group's own facts as its entries left them."""

    id: str
    group_id: str
    shut: tuple[Shut, ...] = ()
    shut_weekdays: Mapping[int, str] = field(default_factory=dict)
    fasting: tuple[Fasting, ...] = ()
    rests: tuple[Span, ...] = ()
    held_since: date | None = None
    well_ml_a_day: int | None = None
    cans_ml: int | None = None
    hands: Mapping[str, int] = field(default_factory=dict)
    sprayers: Mapping[str, Shared] = field(default_factory=dict)
    spare_percent: int = SPARE_PERCENT
    rains_on: date | None = None
    planned: bool = False
    borrowed: tuple[Borrowed, ...] = ()
    shaken: Shaken | None = None

    def closed(self, day: date) -> str:
        """Why nobody sprays on a day (rest, market, feast, other); empty where it is open."""
        if self.resting(day) is not None:
            return "rest"
        named = next((shut.reason for shut in self.shut if shut.span.holds(day)), "")
        return named or self.shut_weekdays.get(day.weekday(), "")

    def resting(self, day: date) -> Span | None:
        """The rest season a day lies in, if any."""
        return next((rest for rest in self.rests if rest.holds(day)), None)

    def asked_at(self, day: date, wall: time) -> time:
        """The wall time at which to ask for something wanted at `wall`: before a fast, else after.

        An ask that falls into fasting hours is moved to their end. Where the fast ends only the
        next day it is moved to its beginning, which is still this day.

        >>> month = Span(date(2026, 2, 18), date(2026, 3, 19))
        >>> fast = Fasting(month, time(5, 0), time(18, 30))
        >>> circle = Circle("c", "g", fasting=(fast,))
        >>> circle.asked_at(date(2026, 3, 1), time(7, 0))
        datetime.time(18, 30)
        """
        for fast in self.fasting:
            if fast.holds(day, wall):
                over_night = fast.from_hour > fast.until_hour and wall >= fast.from_hour
                return fast.from_hour if over_night else fast.until_hour
        return wall

    def fast_ends(self, day: date, wall: time) -> tuple[date, time] | None:
        """When the fast in which a wall time falls is over: a day and the wall time; else None.

        >>> month = Span(date(2026, 2, 18), date(2026, 3, 19))
        >>> circle = Circle("c", "g", fasting=(Fasting(month, time(5, 0), time(18, 30)),))
        >>> circle.fast_ends(date(2026, 3, 1), time(7, 0))
        (datetime.date(2026, 3, 1), datetime.time(18, 30))
        """
        for fast in self.fasting:
            if fast.holds(day, wall):
                ends_on = day if wall < fast.until_hour else day + _DAY
                return ends_on, fast.until_hour
        return None

    def starter_lasts(self, rest: Span, use_by_on: date) -> bool:
        """Whether starter kept before a rest is still good on the day after it."""
        return use_by_on > rest.last_on


def fold(head: Head, entries: Sequence[Entry]) -> Circle:
    """The circle that these entries (oldest first) make."""
    circle = Circle(head.id, head.group_id)
    for entry in entries:
        change = _CHANGES.get(entry.kind)
        if change is not None:
            circle = change(circle, entry, head.day_of(entry))
    return circle


# --- what each kind of entry changes ----------------------------------------------------------


def _blocked(circle: Circle, entry: Entry, on: date) -> Circle:
    reason = entry.text("reason", "other")
    weekdays = weekdays_of(entry)
    if weekdays:
        named = dict.fromkeys(sorted(weekdays), reason)
        return replace(circle, shut_weekdays={**circle.shut_weekdays, **named})
    return replace(circle, shut=(*circle.shut, Shut(of_entry(entry, on), reason)))


def _opened(circle: Circle, entry: Entry, on: date) -> Circle:
    """What was shut is open again: everything on those days, or only what the reason names."""
    reason = entry.text("reason")
    weekdays = weekdays_of(entry)
    if weekdays:
        left = {
            day: why
            for day, why in circle.shut_weekdays.items()
            if day not in weekdays or reason not in {"", why}
        }
        return replace(circle, shut_weekdays=left)
    gone = of_entry(entry, on)
    shut = tuple(
        Shut(piece, each.reason)
        for each in circle.shut
        for piece in (cut(each.span, gone) if reason in {"", each.reason} else (each.span,))
    )
    rests, fasting = circle.rests, circle.fasting
    if reason in {"", "rest"}:
        rests = tuple(piece for rest in rests for piece in cut(rest, gone))
    if reason in {"", "fasting"}:
        fasting = tuple(
            replace(fast, span=piece) for fast in fasting for piece in cut(fast.span, gone)
        )
    return replace(circle, shut=shut, rests=rests, fasting=fasting)


def _fasting(circle: Circle, entry: Entry, on: date) -> Circle:
    fast = Fasting(
        of_entry(entry, on),
        time.fromisoformat(entry.text("from_hour")),
        time.fromisoformat(entry.text("until_hour")),
    )
    return replace(circle, fasting=(*circle.fasting, fast))


def _rest(circle: Circle, entry: Entry, on: date) -> Circle:
    return replace(circle, rests=(*circle.rests, of_entry(entry, on)))


def _hold(circle: Circle, _entry: Entry, on: date) -> Circle:
    return replace(circle, held_since=circle.held_since or on)


def _release(circle: Circle, _entry: Entry, _on: date) -> Circle:
    return replace(circle, held_since=None)


def _rains(circle: Circle, _entry: Entry, on: date) -> Circle:
    return replace(circle, rains_on=on)


def _planned(circle: Circle, _entry: Entry, _on: date) -> Circle:
    return replace(circle, planned=True)


def _borrowed(circle: Circle, entry: Entry, on: date) -> Circle:
    lent = Borrowed(on, entry.whole("ml") or 0, entry.text("recipe"))
    return replace(circle, borrowed=(*circle.borrowed, lent))


def _shaken(circle: Circle, entry: Entry, _on: date) -> Circle:
    return replace(circle, shaken=Shaken(entry.at, entry.text("why"), entry.text("code")))


def _well(circle: Circle, entry: Entry, _on: date) -> Circle:
    return replace(circle, well_ml_a_day=entry.whole("ml_a_day"))


def _cans(circle: Circle, entry: Entry, _on: date) -> Circle:
    return replace(circle, cans_ml=entry.whole("ml"))


def _hand(circle: Circle, entry: Entry, _on: date) -> Circle:
    who, tanks = entry.text("who", entry.member_id), entry.whole("tanks_a_day") or 0
    others = {name: most for name, most in circle.hands.items() if name != who}
    return replace(circle, hands={**others, who: tanks} if tanks else others)


def _sprayer(circle: Circle, entry: Entry, _on: date) -> Circle:
    name, tanks = entry.text("sprayer_id"), entry.whole("tanks_a_day") or 0
    owner = entry.text("owner_id", entry.member_id)
    others = {each: sprayer for each, sprayer in circle.sprayers.items() if each != name}
    sprayers = {**others, name: Shared(name, owner, tanks)} if tanks else others
    return replace(circle, sprayers=sprayers)


def _spare(circle: Circle, entry: Entry, _on: date) -> Circle:
    percent = entry.whole("percent")
    return circle if percent is None else replace(circle, spare_percent=percent)


_CHANGES: Mapping[str, Callable[[Circle, Entry, date], Circle]] = {
    "blocked": _blocked,
    "opened": _opened,
    "fasting": _fasting,
    "rest": _rest,
    "hold": _hold,
    "release": _release,
    "rains": _rains,
    "planned": _planned,
    "borrowed": _borrowed,
    "shaken": _shaken,
    "well": _well,
    "cans": _cans,
    "hand": _hand,
    "sprayer": _sprayer,
    "spare": _spare,
}
