"""Facts put into words for one member and one channel, and into the outbox."""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from types import ModuleType
from typing import Any

from sqlalchemy import Connection

from bot.clock import local_day
from bot.facts import Fact, Question
from bot.language.addressing import Addressed
from bot.language.hearing import Hearing, Understood
from bot.messages import Incoming, Manner
from bot.records import outbox, pages, tallies
from bot.records.changes import Answer
from bot.records.people import Address, Member
from bot.wording.say import Worded
from bot.wording.voice import Voice

LOG = logging.getLogger(__name__)

PRIORITY = {"reply": outbox.REPLY, "last": outbox.REPLY, "reminder": outbox.REMINDER}


@dataclass(frozen=True, slots=True)
class Again(Fact):
    """What follows may have come before: it is the same message, not a second dose."""

    words = "exchange.again"


@dataclass(frozen=True, slots=True)
class Rooms:
    """The rooms an exchange passes through, put together by the assembly."""

    requests: Mapping[str, ModuleType]
    reminders: Mapping[str, ModuleType]
    subjects: Mapping[str, ModuleType]
    recipes: Mapping[str, Any]
    understand: Callable[[str, Hearing], Understood]
    addressed: Callable[[str], Addressed | None]
    say: Callable[[Sequence[Fact], Question | None, Voice, Manner], Worded]
    manner: Callable[[str], Manner]
    newcomer: Callable[[Incoming], Mapping[str, Any]]
    languages: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Stamp:
    """How a message goes: its key and kind, when, under which ceiling, and how a second time."""

    key: str
    kind: str
    exchange_id: int | None = None
    valid_until: datetime | None = None
    not_before_at: datetime | None = None
    ceiling: str = ""
    repeat: str = "said"


@dataclass(frozen=True, slots=True)
class Post:
    """A letter, and the pages that are kept until they are asked for."""

    letter: outbox.Letter
    rest: tuple[str, ...]


def post(  # noqa: PLR0917 - who, where, what, how
    tx: Connection,
    rooms: Rooms,
    member: Member,
    here: Address,
    facts: Sequence[Fact],
    answers: Sequence[Answer],
    stamp: Stamp,
    now: datetime,
) -> None:
    """Word the facts and the answers' questions into the outbox."""
    put(tx, [word(tx, rooms, member, here, facts, answers, stamp, now)], now)


def put(tx: Connection, posts: Sequence[Post], now: datetime) -> dict[str, int]:
    """The outbox row of each, by its key; one that was there already has none."""
    pages.keep(tx, {each.letter.member_id: each.rest for each in posts}, now)
    return outbox.put(tx, [each.letter for each in posts], now)


def word(  # noqa: PLR0917 - who, where, what, how
    tx: Connection,
    rooms: Rooms,
    member: Member,
    here: Address,
    facts: Sequence[Fact],
    answers: Sequence[Answer],
    stamp: Stamp,
    now: datetime,
) -> Post:
    """The facts and the answers' questions in words.

    The row belongs to whoever holds the phone: their STOP, their ceiling, their `more`.
    """
    asked = [answer.question for answer in answers if answer.question is not None]
    # Only the last question can have its answers as buttons; the others are said before it.
    said = [*facts, *(each.ask for each in asked[:-1])]
    voice = voice_of(member, now)
    worded = rooms.say(said, asked[-1] if asked else None, voice, rooms.manner(here.channel))
    if worded.fell_back:
        # Message by message: what has no words yet is said in English, and the keeper can see it.
        LOG.warning(
            "no words in %s, said in English: %s", voice.language, ", ".join(worded.fell_back)
        )
        tallies.add(tx, f"said_in_english:{member.group_id}:{voice.language}")
    return Post(
        outbox.Letter(
            key=stamp.key,
            channel=here.channel,
            address=here.address,
            member_id=here.member_id or member.id,
            text=worded.pages[0],
            kind=stamp.kind,
            priority=PRIORITY.get(stamp.kind, outbox.NOTICE),
            exchange_id=stamp.exchange_id,
            about=tuple(about for answer in answers for about in answer.about),
            buttons=worded.buttons,
            picture=worded.picture,
            valid_until=stamp.valid_until,
            not_before_at=stamp.not_before_at,
            ceiling=stamp.ceiling,
            repeat="same" if stamp.kind == "last" else stamp.repeat,
        ),
        worded.pages[1:],
    )


def again(rooms: Rooms, member: Member | None) -> str:
    """The words that stand before a message which may have arrived already."""
    if member is None:
        return ""
    voice = voice_of(member, member.created_at)
    return rooms.say([Again()], None, voice, Manner()).pages[0]


def voice_of(member: Member, now: datetime) -> Voice:
    """How to speak to a member: language, zone, and the habits they chose."""
    return Voice(
        language=member.language or "en",
        zone=member.zone,
        country=member.country,
        plain_letters=bool(member.settings.get("plain", False)),
        digits=str(member.settings.get("digits", "latin")),
        hours=str(member.settings.get("hours", "")),
        today=local_day(now, member.zone),
    )
