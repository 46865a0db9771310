"""Where a member can be reached: at an address that lives, or at the phone of another."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection, bindparam, select

from bot.records import people
from bot.records.people import Address
from bot.records.tables import address as addresses


def reach(tx: Connection, member_id: str) -> Address | None:
    """Where the member was heard last, among the addresses that live; else at whose phone.

    Somebody without a phone is reached through whoever writes for them; where that phone is gone,
    through a keeper of their group. A phone that said stop carries nothing.
    """
    return reaches(tx, [member_id]).get(member_id)


def reaches(tx: Connection, member_ids: Sequence[str]) -> dict[str, Address]:
    """Where each of these members can be reached; those who cannot be are left out."""
    found = _latest(tx, member_ids)
    for member_id in member_ids:
        if member_id not in found:
            carried_by = _carried_by(tx, member_id)
            if carried_by is not None:
                found[member_id] = carried_by
    return found


def _carried_by(tx: Connection, member_id: str) -> Address | None:
    one = people.by_id(tx, member_id)
    if one is None or not one.via_member_id:
        return None
    keepers = [each.id for each in people.members_of(tx, one.group_id, role="keeper")]
    for holder_id in (one.via_member_id, *keepers):
        holder = people.by_id(tx, holder_id)
        found = _latest(tx, [holder_id]).get(holder_id)
        if holder is not None and holder.stopped_at is None and found is not None:
            return found
    return None


def _latest(tx: Connection, member_ids: Sequence[str]) -> dict[str, Address]:
    found: dict[str, Address] = {}
    for row in tx.execute(_LATEST, {"of_members": list(member_ids)}):
        found.setdefault(
            row.member_id, Address(row.channel, row.address, row.noticeboard, row.member_id)
        )
    return found


_LATEST = (
    select(addresses)
    .where(
        addresses.c.member_id.in_(bindparam("of_members", expanding=True)),
        addresses.c.dead_at.is_(None),
    )
    .order_by(addresses.c.heard_at.desc().nulls_last(), addresses.c.id)
)
