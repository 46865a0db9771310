"""What is said back when a message, or a value in it, was not understood. Words are elsewhere.

An `example` is a message of the reader's own word list that would work.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time
from decimal import Decimal
from typing import Any, ClassVar

from bot.craft.units import Quantity
from bot.facts import Count, Duration, Every, Fact, Per, Ratio, Span, Term

Value = (
    Quantity | Count | Ratio | Per | Span | Every | Duration | Term | Decimal | date | time | str
)
"""What a message can hold and a fact can show."""

_WIDEST_AMOUNT = Quantity(Decimal("-123456.75"), "millilitre")


@dataclass(frozen=True, slots=True)
class NotUnderstood(Fact):
    """Nothing in the message says what is wanted."""

    words: ClassVar[str] = "doubt.not_understood"
    example: str


@dataclass(frozen=True, slots=True)
class WordUnknown(Fact):
    """Some words meant nothing here, and without them nothing is left to answer."""

    words: ClassVar[str] = "doubt.word_unknown"
    widest: ClassVar[dict[str, Any]] = {"unread": "w" * 40}
    unread: str
    example: str


@dataclass(frozen=True, slots=True)
class ForWhat(Fact):
    """A value was read, but not what it is for."""

    words: ClassVar[str] = "doubt.for_what"
    widest: ClassVar[dict[str, Any]] = {"typed": "w" * 40}
    typed: str
    example: str


@dataclass(frozen=True, slots=True)
class NoSuchMeasure(Fact):
    """A number before a word that is no measure here, as it was typed."""

    words: ClassVar[str] = "doubt.no_such_measure"
    widest: ClassVar[dict[str, Any]] = {"typed": "w" * 40}
    typed: str
    example: str


@dataclass(frozen=True, slots=True)
class NothingWritten(Fact):
    """The message is empty, or holds no word and no number."""

    words: ClassVar[str] = "doubt.nothing_written"
    example: str


@dataclass(frozen=True, slots=True)
class TooLong(Fact):
    """The message is longer than what is read of one, and its beginning says nothing."""

    words: ClassVar[str] = "doubt.too_long"
    example: str


@dataclass(frozen=True, slots=True)
class NotAnAmount(Fact):
    """An amount of nothing or less than nothing, as it was typed."""

    words: ClassVar[str] = "doubt.not_an_amount"
    widest: ClassVar[dict[str, Any]] = {"typed": "w" * 40}
    typed: str
    example: str


@dataclass(frozen=True, slots=True)
class TooMuch(Fact):
    """An amount beyond what any circle of smallholders has: more likely a slip."""

    words: ClassVar[str] = "doubt.too_much"
    widest: ClassVar[dict[str, Any]] = {"typed": "w" * 40}
    typed: str
    example: str


@dataclass(frozen=True, slots=True)
class NoSuchDay(Fact):
    """A date the calendar does not have, or years away, as it was typed."""

    words: ClassVar[str] = "doubt.no_such_day"
    widest: ClassVar[dict[str, Any]] = {"typed": "w" * 40}
    typed: str
    example: str


@dataclass(frozen=True, slots=True)
class WhichRatio(Fact):
    """One in three: 1 part culture + 2 parts water, or + 3?"""

    words: ClassVar[str] = "doubt.which_ratio"
    widest: ClassVar[dict[str, Any]] = {"typed": "1 in 3"}
    typed: str
    parts: Ratio
    total: Ratio


@dataclass(frozen=True, slots=True)
class RatioReading(Fact):
    """One of the readings, as a choice to pick: both amounts."""

    words: ClassVar[str] = "doubt.ratio_reading"
    widest: ClassVar[dict[str, Any]] = {
        "culture_parts": Decimal(1),
        "water_parts": Decimal(1000),
    }
    culture_parts: Decimal
    water_parts: Decimal


@dataclass(frozen=True, slots=True)
class WhichReading(Fact):
    """A value that can be read in two ways, both said."""

    words: ClassVar[str] = "doubt.which_reading"
    widest: ClassVar[dict[str, Any]] = {
        "typed": "w" * 20,
        "first": _WIDEST_AMOUNT,
        "second": _WIDEST_AMOUNT,
    }
    typed: str
    first: Value
    second: Value


@dataclass(frozen=True, slots=True)
class WhichUnit(Fact):
    """A unit whose size the place decides."""

    words: ClassVar[str] = "doubt.which_unit"
    widest: ClassVar[dict[str, Any]] = {"typed": "w" * 20}
    typed: str


@dataclass(frozen=True, slots=True)
class EveryOrIn(Fact):
    """Bare days: a repeat, or one day to come?"""

    words: ClassVar[str] = "doubt.every_or_in"
    widest: ClassVar[dict[str, Any]] = {
        "typed": "w" * 20,
        "every": Every(10, "day"),
        "on": date(2026, 9, 23),
    }
    typed: str
    every: Every
    on: date
