"""Who writes too much, and what is no person: decided from what came and when. Pure.

What is decided is only whether to answer; what came is kept and, where it says something, recorded.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

LOOP_ROUNDS = 3
"""An answering machine is let answer so often before it is left alone. Ours, no source."""

LOOP_WITHIN = timedelta(seconds=60)
"""A machine answers within this of our message; a person rarely does, in the same words."""

_DIGITS = re.compile(r"\d+")
_GAPS = re.compile(r"\s+")


@dataclass(frozen=True, slots=True)
class Round:
    """One message of theirs and the message of ours that went before it, if any."""

    text: str
    came_at: datetime
    ours_at: datetime | None = None


def alike(text: str) -> str:
    """What is left of a text without its numbers, case and gaps: a machine puts the time in.

    >>> alike("Out of office until 7:30.") == alike("OUT of office  until 18:05.")
    True
    """
    return _GAPS.sub(" ", _DIGITS.sub("#", text)).strip().casefold()


def is_loop(
    rounds: Sequence[Round],
    *,
    most: int = LOOP_ROUNDS,
    within: timedelta = LOOP_WITHIN,
    like: Callable[[str], str] = alike,
) -> bool:
    """Whether the last `most` messages are a machine's: `like` each other, soon after ours.

    Rounds stand in the order in which they came. An answer of theirs at exactly `within` counts.

    >>> at = datetime(2026, 3, 2, 7)
    >>> answer = Round("I am driving", at + timedelta(seconds=5), ours_at=at)
    >>> is_loop([answer] * 2), is_loop([answer] * 3)
    (False, True)
    """
    last = rounds[-most:]
    if len(last) < most or len({like(one.text) for one in last}) > 1:
        return False
    return all(
        one.ours_at is not None and timedelta() <= one.came_at - one.ours_at <= within
        for one in last
    )


def free_at(
    came_at: Sequence[datetime], now: datetime, *, most: int, window: timedelta
) -> datetime | None:
    """When a sender who may write `most` messages a `window` is answered again; None: now.

    `came_at` are the moments of those before, in any order; those in (now - window, now] count.

    >>> at = datetime(2026, 3, 2, 7)
    >>> free_at([at], at, most=1, window=timedelta(hours=1))
    datetime.datetime(2026, 3, 2, 8, 0)
    >>> free_at([at], at + timedelta(hours=1), most=1, window=timedelta(hours=1)) is None
    True
    """
    recent = sorted(moment for moment in came_at if now - window < moment <= now)
    return recent[-most] + window if len(recent) >= most else None
