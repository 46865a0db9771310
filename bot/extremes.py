"""What is said where it is so hot or cold that a forecast is worth little."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar

from bot.craft.outlook import Outlook
from bot.facts import Fact


@dataclass(frozen=True, slots=True)
class TooHot(Fact):
    """So hot that a culture may stop or die: what to do, and that the days are a guess."""

    words: ClassVar[str] = "outlook.too-hot"


@dataclass(frozen=True, slots=True)
class TooCold(Fact):
    """So cold that a culture hardly works: what to do, and that the days are a guess."""

    words: ClassVar[str] = "outlook.too-cold"


def extremes(seen: Iterable[Outlook]) -> tuple[Fact, ...]:
    """One clause, however many barrels stand in the heat; another for those in the cold."""
    sides = {each.outside for each in seen}
    return tuple(fact for side, fact in (("hot", TooHot()), ("cold", TooCold())) if side in sides)
