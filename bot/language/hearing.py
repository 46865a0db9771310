"""What understanding is told besides the words, and what it gives back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from bot.facts import Fact, Question, Request


@dataclass(frozen=True, slots=True)
class Hearing:
    """Who writes, when, and what is open between them and the bot.

    `said_at` is when the message was sent (aware); relative days count from its day in `zone`.
    `language` is the member's, "" while nobody knows; `likely` is then where ties go. `pending`
    are the open questions, the newest first. `names` are words that are names here: "barrel",
    "crop", "plot", "member", "recipe". `settled` holds what was asked once: "ratio_reading" is
    "parts" (1 in 3 means 1 + 3) or "total" (1 + 2).
    """

    said_at: datetime
    zone: str = "UTC"
    language: str = ""
    pending: tuple[Question, ...] = ()
    names: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    country: str = ""
    likely: str = ""
    tank_ml: int | None = None
    settled: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Understood:
    """The requests of one message, or one question, or the one doubt that is said back.

    `language` is the one it was read in. `unread` are words that meant nothing here.
    """

    requests: tuple[Request, ...] = ()
    question: Question | None = None
    language: str = ""
    unread: tuple[str, ...] = ()
    doubt: Fact | None = None
