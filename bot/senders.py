"""Who a message is from; what a network says of an address."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection

from bot.messages import Incoming
from bot.posting import Rooms
from bot.records import addresses, people, rerouting
from bot.records.people import Member
from bot.records.store import Store
from bot.restraint import welcomes


def writer(
    tx: Connection, store: Store, rooms: Rooms, incoming: Incoming, now: datetime
) -> Member | None:
    """Who writes; None: one new number too many."""
    found = people.by_address(tx, incoming.channel, incoming.address)
    if found is not None:
        if store.is_sqlite:
            return found
        member = people.by_id(tx, found.id, lock=True) or found
        people.lock_group(tx, member.group_id, wait=True)
        return member
    manner = rooms.manner(incoming.channel)
    if not welcomes(tx, incoming.channel, manner, now):
        return None
    return people.welcome(
        tx,
        member_id=store.new_id(),
        group_id=store.new_id(),
        channel=incoming.channel,
        address=incoming.address,
        now=now,
        name=incoming.name,
        noticeboard=incoming.noticeboard,
        **rooms.newcomer(incoming),
    )


def heard_of(tx: Connection, incoming: Incoming, now: datetime) -> None:
    """The network's own word on an address: it can be reached again, or not at all."""
    if incoming.reachable:
        addresses.heard(tx, incoming.channel, incoming.address, now)
    else:
        rerouting.lost(tx, incoming.channel, incoming.address, now)
