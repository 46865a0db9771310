"""Members with something due, and what wording it needs to know: a few statements for all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection

from bot import ceilings
from bot.clock import next_local_hour
from bot.craft import circle as circles
from bot.records import journal, people, reaching, rules
from bot.records.people import Address, Group, Member
from bot.records.rules import Waiting
from bot.records.unasked import Unasked


@dataclass(frozen=True, slots=True)
class DueMember:
    """One member with what is due for them up to `until`, the end of their local hour.

    `sent` is what went to them unasked; `fasts`: in their group days or hours of fasting are kept.
    """

    member: Member
    group: Group
    here: Address | None
    until: datetime
    waiting: Sequence[Waiting]
    sent: Sequence[Unasked]
    fasts: bool


def look(tx: Connection, owners: Sequence[str], now: datetime) -> list[DueMember]:
    """What is known of these members, in their order; whoever is gone is left out."""
    members = people.by_ids(tx, owners)
    until = {
        each.id: next_local_hour(now, each.zone) - timedelta(microseconds=1)
        for each in members.values()
    }
    waiting = rules.waiting(tx, owners, max(until.values(), default=now))
    reached = reaching.reaches(tx, owners)
    group_ids = {each.group_id for each in members.values()}
    groups = people.groups(tx, group_ids)
    phones = {here.member_id or owner for owner, here in reached.items()}
    sent = ceilings.gone(tx, phones, now) if phones else {}
    fasting = journal.groups_with(tx, group_ids, circles.SUBJECT)
    return [
        DueMember(
            member=members[owner],
            group=groups[members[owner].group_id],
            here=None if members[owner].stopped_at is not None else reached.get(owner),
            until=until[owner],
            waiting=[each for each in waiting.get(owner, ()) if each.due_at <= until[owner]],
            sent=sent.get(owner, ()),
            fasts=members[owner].group_id in fasting,
        )
        for owner in owners
        if owner in members
    ]
