"""What a message is read against, and what one says that has no words."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection

from bot.answering import Visit
from bot.facts import Request
from bot.language.hearing import Hearing, Understood
from bot.messages import Incoming
from bot.newcomers import likely_language
from bot.posting import Rooms
from bot.recipes import own
from bot.records import journal, people, questions
from bot.records.people import Member


def hearing_of(
    tx: Connection,
    rooms: Rooms,
    member: Member,
    group: people.Group,
    visit: Visit,
    pending: Sequence[questions.Open],
) -> Hearing:
    """What is known of a member before their words are read: what was asked, names, settings."""
    incoming = visit.incoming
    called = {"member": _others(tx, member)}
    return Hearing(
        said_at=visit.said_at,
        zone=member.zone,
        language=member.language,
        pending=tuple(each.question for each in pending),
        names={
            **own.named(journal.names(tx, member.group_id), rooms.recipes, group.settings),
            **called,
        },
        country=member.country,
        # A phone's own language says less than the words that came from it.
        likely=incoming.language_hint or likely_language(member.country),
        tank_ml=member.settings.get("tank_ml"),
        settled={**group.settings, **member.settings},
    )


def without_words(incoming: Incoming, pending: Sequence[questions.Open]) -> Understood | None:
    """What a message says that has no words: a shared place, or a call that rang.

    A missed call costs nothing and means "done" to what was asked last; with nothing open it
    means nothing.
    """
    if incoming.missed_call:
        for each in pending:
            if any(option.value is True for option in each.question.options):
                asked = each.question
                return Understood((asked.request.with_slots(**{asked.slot: True}),))
        return Understood()
    if incoming.place is not None and not incoming.text.strip():
        return Understood((Request("settings"),))
    return None


def _others(tx: Connection, member: Member) -> tuple[str, ...]:
    """The names of the others in the group: one's own is no word for somebody."""
    return tuple(
        each.name
        for each in people.members_of(tx, member.group_id)
        if each.name and each.id != member.id
    )
