"""The types that pass between rooms: what was read, asked for, found out and is to be asked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any, ClassVar

from bot.craft.units import Quantity

# --- values -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Count:
    """A number of things that are counted, as `Count(Decimal(3), "tank")`."""

    n: Decimal
    noun: str


@dataclass(frozen=True, slots=True)
class Ratio:
    """Parts of culture to parts of water: 1:3 is 1 part culture + 3 parts water."""

    culture_parts: Decimal
    water_parts: Decimal


@dataclass(frozen=True, slots=True)
class Per:
    """An amount for each of something: 250 mL a plant, 30 mL per 15 L, 40 L an acre."""

    amount: Quantity
    each: Quantity | Count


_DAYS = {"day": 1, "week": 7, "month": 30, "year": 365}
_SHORTER = {"minute": 1, "hour": 60}
"""Minutes in what is shorter than a day."""


@dataclass(frozen=True, slots=True)
class Every:
    """A recurrence: every 10 days is `Every(10, "day")`."""

    n: int
    unit: str

    @property
    def days(self) -> int:
        """Whole days between two times: twice a week comes back after four, never more often.

        >>> Every(84, "hour").days, Every(12, "hour").days, Every(2, "week").days
        (4, 1, 14)
        """
        if self.unit in _SHORTER:
            return -(-self.n * _SHORTER[self.unit] // (24 * 60))
        return self.n * _DAYS[self.unit]


@dataclass(frozen=True, slots=True)
class Duration:
    """A length of time as it was said: `Duration(Decimal(5), "day")`."""

    n: Decimal
    unit: str


@dataclass(frozen=True, slots=True)
class Span:
    """Both ends of a range, each answered: 2-3 litres."""

    low: Quantity
    high: Quantity


@dataclass(frozen=True, slots=True)
class Term:
    """A word of the trade that each language's catalogue knows: `Term("use", "leaf")`."""

    kind: str
    name: str


@dataclass(frozen=True, slots=True)
class Hour:
    """A day or moment that keeps its zone: shown in the reader's own wall time."""

    at: datetime


# --- what was read ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Mention:
    """One value found in a message, at tokens `start` to `end` (end exclusive).

    `kind` is one of quantity, count, ratio, number, date, time, every, duration, per, span, term,
    name, age.
    """

    kind: str
    value: Any
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Request:
    """What a member asks or tells: a kind and its slots.

    A slot holds values of this module (or plain str, int, date, time, datetime, bool, tuples of
    them). What was not said is not there: `request.slots.get("tanks")`.
    """

    kind: str
    slots: Mapping[str, Any] = field(default_factory=dict)

    def term(self, slot: str) -> str:
        """The name of the word of the trade in a slot; empty where none was said."""
        value = self.slots.get(slot)
        return value.name if isinstance(value, Term) else ""

    def with_slots(self, **slots: Any) -> Request:
        """The same request with more slots filled, or others in their place."""
        return Request(self.kind, {**self.slots, **slots})


# --- what is said -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Fact:
    """What the bot has to say, as values. Each kind of fact is a subclass.

    A catalogue holds its words under `words` (for one SMS: `words` + `.short`, if there is one).
    A field that is an int and named in `plural` chooses the plural form.
    """

    words: ClassVar[str]
    plural: ClassVar[str] = ""


@dataclass(frozen=True, slots=True)
class Picture(Fact):
    """What can be drawn beside the words, on channels that carry pictures.

    It only repeats what other facts of the reply say, so a channel without pictures leaves it
    out. `words` are its title.
    """


@dataclass(frozen=True, slots=True)
class Band:
    """Days that belong together, both ends included, and what they are called."""

    label: Any
    since_on: date
    until_on: date


@dataclass(frozen=True, slots=True)
class Mark:
    """What was done or said on a day."""

    label: Any
    on: date


@dataclass(frozen=True, slots=True)
class DayStrip(Picture):
    """A strip of days, as those of a batch from its start to its use-by, with `today_on`."""

    words = "picture.days"
    title: Any
    first_on: date
    last_on: date
    today_on: date | None = None
    bands: tuple[Band, ...] = ()
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True, slots=True)
class Part:
    """One of the things poured together."""

    label: Any
    amount: Quantity


@dataclass(frozen=True, slots=True)
class Pour(Picture):
    """A vessel with what goes into it, the first part lowest, heights by amount."""

    words = "picture.pour"
    title: Any
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """Values in columns, for a printed sheet: one head, and as many rows of the same length."""

    head: tuple[Any, ...]
    rows: tuple[tuple[Any, ...], ...]


SETTLES_UNIT = "settle_unit"
"""The slot beside a question of what a unit means here: the name said. The answer is kept."""


@dataclass(frozen=True, slots=True)
class Option:
    """One of the answers a question offers: what the slot becomes, and its word for the reader."""

    value: Any
    label: Any


@dataclass(frozen=True, slots=True)
class Question:
    """One thing that must be asked before `request` can be answered.

    The next message that gives a value for `slot` fills it, and the request runs again; any other
    message starts something else and leaves the question open until it expires.
    """

    ask: Fact
    request: Request
    slot: str
    options: tuple[Option, ...] = ()
    valid_hours: int = 24
    listed: bool = True
    """Whether the options are listed in the text; not where the words of `ask` name them."""


# --- what time brings -------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Rule:
    """One wanted reminder: on `first_on`, and every `every_days` until `last_on` (inclusive).

    `at` is wall time in `zone`. An instant reminder has `instant` instead. `member_id` None means
    whoever tends the subject when it is due. `stale` says what becomes of days that were missed:
    "fold" (only the newest), "always" (each still goes), "lapse" (gone after `lapse_hours`).
    A `key` that ends in "-" only announces the task of another day.
    """

    kind: str
    subject_id: str
    key: str
    member_id: str | None = None
    zone: str = "UTC"
    first_on: date | None = None
    at: time | None = None
    every_days: int | None = None
    last_on: date | None = None
    instant: datetime | None = None
    stale: str = "fold"
    lapse_hours: int = 12


@dataclass(frozen=True, slots=True)
class Tending:
    """What a reminder may know beside its subject: who tends it, and what is settled there.

    `hour` is the tender's wall time in `zone` for routine reminders; `settings` are the group's;
    `outlook` is what other rooms worked out about the subject, as a forecast.
    """

    member_id: str
    zone: str
    hour: time
    now: datetime
    settings: Mapping[str, Any] = field(default_factory=dict)
    outlook: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Due:
    """A rule that fell due: for which local day, and at which instant it was wanted."""

    rule: Rule
    due_on: date
    due_at: datetime
