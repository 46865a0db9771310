"""What can be asked and told."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from bot.facts import Fact, Request, Term
from bot.records.book import Answer, Book

KIND = "help"


@dataclass(frozen=True, slots=True)
class HelpAll(Fact):
    """The things a member can send, each by an example."""

    words: ClassVar[str] = "help.all"


@dataclass(frozen=True, slots=True)
class HelpMix(Fact):
    """How to ask for amounts."""

    words: ClassVar[str] = "help.mix"


@dataclass(frozen=True, slots=True)
class HelpBarrel(Fact):
    """How to tell of a barrel."""

    words: ClassVar[str] = "help.barrel"


@dataclass(frozen=True, slots=True)
class HelpRounds(Fact):
    """How to plan rounds and tell of them."""

    words: ClassVar[str] = "help.rounds"


@dataclass(frozen=True, slots=True)
class HelpSettings(Fact):
    """How to set language, hour, zone, tank and measures, and how to stop."""

    words: ClassVar[str] = "help.settings"


@dataclass(frozen=True, slots=True)
class StillStopped(Fact):
    """Help for somebody who stopped: nothing is sent to them, and how to begin again."""

    words: ClassVar[str] = "stop.still-stopped"


_TOPICS: dict[str, type[Fact]] = {
    "mix": HelpMix,
    "barrels": HelpBarrel,
    "start": HelpBarrel,
    "stir": HelpBarrel,
    "rounds": HelpRounds,
    "settings": HelpSettings,
}


def answer(request: Request, book: Book) -> Answer:
    """Help on a topic, or the short list of examples and then the topics, paged."""
    if book.member.stopped_at is not None:
        return Answer((StillStopped(),))
    topic = request.slots.get("topic")
    name = topic.name if isinstance(topic, Term) else str(topic or "")
    if name in _TOPICS:
        return Answer((_TOPICS[name](),))
    return Answer((HelpAll(), *(fact() for fact in dict.fromkeys(_TOPICS.values()))))
