"""How warm a batch's days are: a member's own reading, a word, or what is usual there."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from bot.craft.climate import MEAN_SD_C

Source = Literal["reading", "word", "climate", "unknown"]

WORDS_C: Mapping[str, float] = MappingProxyType({"hot": 31.0, "warm": 27.0, "cool": 22.0})
"""What a word means. Source: common practice, no source; hot and cool are the ends of the custom
of 5 to 7 days."""

# How far each may be off. Assumptions; the weather one is what days in a row differ from the
# moment of a reading, as simulated (daily steps of 1.2 degrees, correlation 0.7).
READING_SD_C = 1.5
WORD_SD_C = 2.5
WEATHER_SD_C = 1.3

USUAL_C, USUAL_SD_C = 26.0, 4.0
"""Where nothing is known: the middle of what growers report. An assumption."""


@dataclass(frozen=True, slots=True)
class Told:
    """A temperature a member gave so many whole days after the start: a reading, or a word's."""

    day: int
    temperature_c: float
    source: Literal["reading", "word"]

    @property
    def sd_c(self) -> float:
        """How far the days after it may differ from it."""
        return math.hypot(READING_SD_C if self.source == "reading" else WORD_SD_C, WEATHER_SD_C)


@dataclass(frozen=True, slots=True)
class Warmth:
    """The temperature of each day from the start (the last one staying), and how far it may be off.

    `source` is the best it rests on.
    """

    temperatures_c: tuple[float, ...]
    sd_c: float
    source: Source


def warmth(told: Sequence[Told] = (), usual_c: Sequence[float] = ()) -> Warmth:
    """How warm the days are, from what was told, drawn towards what is usual on each day.

    `usual_c` is the climate of the days from the start on, the last one staying; empty where the
    place is not known. What was told holds from its day until the next telling, and the first for
    the days before it. Told and usual are weighed by how far each may be off.

    >>> found = warmth([Told(0, 30.0, "reading")], [27.0])
    >>> [round(value, 1) for value in found.temperatures_c], round(found.sd_c, 1), found.source
    ([29.0], 1.6, 'reading')
    """
    usual = tuple(usual_c) or (USUAL_C,)
    usual_sd = math.hypot(MEAN_SD_C if usual_c else USUAL_SD_C, WEATHER_SD_C)
    if not told:
        return Warmth(_short(usual), usual_sd, "climate" if usual_c else "unknown")
    ordered = sorted(told, key=lambda one: one.day)
    days = max(len(usual), ordered[-1].day + 1)
    seen = []
    for day in range(days):
        newest = next((one for one in reversed(ordered) if one.day <= day), ordered[0])
        trust = usual_sd**2 / (usual_sd**2 + newest.sd_c**2)
        usual_day_c = usual[min(day, len(usual) - 1)]
        seen.append(usual_day_c + trust * (newest.temperature_c - usual_day_c))
    last = ordered[-1]
    sd = usual_sd * last.sd_c / math.hypot(usual_sd, last.sd_c)
    best: Source = "reading" if any(one.source == "reading" for one in told) else "word"
    return Warmth(_short(seen), sd, best)


def _short(days_c: Sequence[float]) -> tuple[float, ...]:
    """Without repeats at the end, which stay anyway."""
    last = len(days_c)
    while last > 1 and days_c[last - 1] == days_c[last - 2]:
        last -= 1
    return tuple(days_c[:last])
