"""What is said back when a message, or a value in it, was not understood. Words are elsewhere."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from bot.craft.units import Quantity
from bot.facts import Count, Fact, Ratio


@dataclass(frozen=True, slots=True)
class NotUnderstood(Fact):
    """Nothing in the message says what is wanted. `example` is a message that would work."""

    words: ClassVar[str] = "doubt.not_understood"
    example: str


@dataclass(frozen=True, slots=True)
class WordUnknown(Fact):
    """Some words meant nothing here, and without them nothing is left to answer."""

    words: ClassVar[str] = "doubt.word_unknown"
    unread: str
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
    """An amount of nothing or less than nothing."""

    words: ClassVar[str] = "doubt.not_an_amount"
    amount: Any
    example: str


@dataclass(frozen=True, slots=True)
class TooMuch(Fact):
    """An amount beyond what any group has: more likely a slip."""

    words: ClassVar[str] = "doubt.too_much"
    amount: Any
    example: str


@dataclass(frozen=True, slots=True)
class NoSuchDay(Fact):
    """A date the calendar does not have, as it was typed."""

    words: ClassVar[str] = "doubt.no_such_day"
    typed: str
    example: str


@dataclass(frozen=True, slots=True)
class WhichRatio(Fact):
    """One in three: 1 part culture + 2 parts water, or + 3?"""

    words: ClassVar[str] = "doubt.which_ratio"
    typed: str
    parts: Ratio
    total: Ratio


@dataclass(frozen=True, slots=True)
class RatioReading(Fact):
    """One of the two readings, as a choice to pick."""

    words: ClassVar[str] = "doubt.ratio_reading"
    culture_parts: int
    water_parts: int


@dataclass(frozen=True, slots=True)
class RatioOrPart(Fact):
    """1/3: a ratio, or a third of something?"""

    words: ClassVar[str] = "doubt.ratio_or_part"
    typed: str


@dataclass(frozen=True, slots=True)
class WhichReading(Fact):
    """A value that can be read in two ways, both said."""

    words: ClassVar[str] = "doubt.which_reading"
    typed: str
    first: Any
    second: Any


@dataclass(frozen=True, slots=True)
class EveryOrIn(Fact):
    """Bare days: a repeat, or a day to come?"""

    words: ClassVar[str] = "doubt.every_or_in"
    typed: str


@dataclass(frozen=True, slots=True)
class Repeated(Fact):
    """The choice: again and again."""

    words: ClassVar[str] = "doubt.repeated"
    every: Any


@dataclass(frozen=True, slots=True)
class OneDay(Fact):
    """The choice: once, on that day."""

    words: ClassVar[str] = "doubt.one_day"
    on: Any


Amount = Quantity | Count
