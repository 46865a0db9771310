"""A word to others than whoever wrote: to one, to the keepers, or to a group's noticeboard."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from bot.ceilings import ALERT, MoreMayWait, gone, notice_room
from bot.facts import Fact
from bot.posting import Rooms, Stamp, post
from bot.records import people, reaching, tallies
from bot.records.changes import Told
from bot.records.people import BOARD, Member
from bot.sharing import ForWhom, in_group


@dataclass(frozen=True, slots=True)
class Teller:
    """Who wrote, in which exchange, and which of its words to others this is."""

    member: Member
    exchange_id: int
    number: int = 0


def tell(tx: Connection, rooms: Rooms, told: Told, teller: Teller, now: datetime) -> None:
    """Put the words into the outbox of everyone they are for, but not of whoever wrote."""
    group_id = told.group_id or teller.member.group_id
    for each in _meant(tx, told, group_id):
        here = reaching.reach(tx, each.id)
        if each.id == teller.member.id or here is None or each.stopped_at is not None:
            continue
        holder_id = here.member_id or each.id
        sent = gone(tx, [holder_id], now).get(holder_id, ())
        there = notice_room(tx, each, sent, now)
        if there is None:
            tallies.add(tx, "notices_too_many")
            continue
        stamp = Stamp(
            f"told:{teller.exchange_id}:{teller.number}:{each.id}",
            "notice",
            exchange_id=teller.exchange_id,
            ceiling=ALERT,
            not_before_at=there.free_at,
        )
        facts: Sequence[Fact] = told.facts
        if here.member_id != each.id:
            facts = (ForWhom(each.name), *facts)
        if each.group_id != group_id:
            facts = (in_group(people.group_of(tx, group_id)), *facts)
        if there.last and not told.board:
            facts = (*facts, MoreMayWait())
        post(tx, rooms, each, here, facts, (), stamp, now)


def _meant(tx: Connection, told: Told, group_id: str) -> tuple[Member, ...]:
    if told.board:
        return people.members_of(tx, group_id, role=BOARD)
    if told.keepers:
        return people.members_of(tx, group_id, role="keeper")
    one = people.by_id(tx, told.member_id)
    return (one,) if one else ()
