"""What is told beside an answer: that a message was cut, what was guessed of a newcomer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, ClassVar

from bot.facts import Fact
from bot.language.doubts import TooLong
from bot.language.folding import CAP_CHARACTERS
from bot.messages import Incoming, Manner
from bot.newcomers import shorter_letters, taken_for_granted
from bot.records.people import Member

LAST_WORDS = 3


@dataclass(frozen=True, slots=True)
class CutShort(Fact):
    """The message was longer than what is read of one: the last words that surely were read."""

    words = "exchange.cut-short"
    widest: ClassVar[dict[str, Any]] = {"last": "w" * 30}
    last: str


def cut_short(incoming: Incoming, facts: Sequence[Fact]) -> tuple[Fact, ...]:
    """Where a message was cut, to be said before anything else; nothing where it was read whole."""
    if len(incoming.text) <= CAP_CHARACTERS or any(isinstance(it, TooLong) for it in facts):
        return ()
    # The word at the cut may be half a word.
    last = incoming.text[:CAP_CHARACTERS].split()[:-1][-LAST_WORDS:]
    return (CutShort(" ".join(last)[-30:]),)


def beside(
    before: Member,
    member: Member,
    manner: Manner,
    facts: Sequence[Fact],
    now: datetime,
) -> tuple[Fact, ...]:
    """What goes with the facts of an answer. A member without a language before is new."""
    told: list[Fact] = []
    if not before.language:
        told += taken_for_granted(before, member, facts, now)
    if before.language != member.language:
        told += shorter_letters(member, manner)
    return tuple(told)
