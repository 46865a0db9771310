"""Members, their addresses and their groups."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time
from typing import Any, cast

from sqlalchemy import Connection, Row, bindparam, case, insert, select, update

from bot.records.tables import address as addresses
from bot.records.tables import grower_group, member, membership

BOARD = "board"
"""The role of a group chat: it is told what is for everyone, and nobody in it is known."""


@dataclass(frozen=True, slots=True)
class Member:
    """One person. `hour` is the wall time in `zone` at which routine reminders come.

    `settings` holds what is rarely set: tank_ml, measures, quiet, ratio_reading, plain.
    """

    id: str
    name: str
    language: str
    zone: str
    hour: time
    country: str
    settings: Mapping[str, Any]
    group_id: str
    stopped_at: datetime | None
    created_at: datetime
    via_member_id: str = ""
    """Whose phone carries words to somebody who has none."""


@dataclass(frozen=True, slots=True)
class Group:
    """A circle of growers; everyone is in one from the first message, if only alone."""

    id: str
    name: str
    settings: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Address:
    """Where a member can be reached, and whose phone that is: not always their own."""

    channel: str
    address: str
    noticeboard: bool
    member_id: str = ""


_BY_ADDRESS = (
    select(member)
    .join(addresses, addresses.c.member_id == member.c.id)
    .where(
        addresses.c.channel == bindparam("of_channel"),
        addresses.c.address == bindparam("of_address"),
    )
)
_BY_ID = select(member).where(member.c.id == bindparam("of_id"))
_BY_ID_HELD = _BY_ID.with_for_update()
_THESE = select(member).where(member.c.id.in_(bindparam("these", expanding=True)))
_THESE_GROUPS = select(grower_group).where(
    grower_group.c.id.in_(bindparam("these", expanding=True))
)
_GROUP = select(grower_group).where(grower_group.c.id == bindparam("of_id"))


def by_address(tx: Connection, channel: str, address: str) -> Member | None:
    """Whose address it is, if anybody's yet."""
    row = tx.execute(_BY_ADDRESS, {"of_channel": channel, "of_address": address}).first()
    return _member(row) if row else None


def by_id(tx: Connection, member_id: str, *, lock: bool = False) -> Member | None:
    """The member, or None; `lock` holds the row to the end of the transaction."""
    row = tx.execute(_BY_ID_HELD if lock else _BY_ID, {"of_id": member_id}).first()
    return _member(row) if row else None


def by_ids(tx: Connection, member_ids: Sequence[str]) -> dict[str, Member]:
    """The members of these identities."""
    rows = tx.execute(_THESE, {"these": list(member_ids)})
    return {row.id: _member(row) for row in rows}


def groups(tx: Connection, group_ids: Iterable[str]) -> dict[str, Group]:
    """The groups of these identities."""
    rows = tx.execute(_THESE_GROUPS, {"these": sorted(set(group_ids))})
    return {row.id: Group(row.id, row.name, row.settings) for row in rows}


def group_of(tx: Connection, group_id: str) -> Group:
    """The group of an identity."""
    row = tx.execute(_GROUP, {"of_id": group_id}).one()
    return Group(row.id, row.name, row.settings)


_EVERYONE = (
    select(member)
    .join(membership, membership.c.member_id == member.c.id)
    .where(membership.c.group_id == bindparam("of_group"))
    .order_by(membership.c.joined_at, member.c.id)
)
_OF_ROLE = _EVERYONE.where(membership.c.role == bindparam("of_role"))
_ROLE = select(membership.c.role).where(
    membership.c.group_id == bindparam("of_group"), membership.c.member_id == bindparam("of_member")
)


def members_of(tx: Connection, group_id: str, *, role: str = "") -> tuple[Member, ...]:
    """Everyone in the group in the order they joined; of one role where given."""
    query, of = (_OF_ROLE, {"of_role": role}) if role else (_EVERYONE, {})
    return tuple(_member(row) for row in tx.execute(query, {"of_group": group_id, **of}))


def groups_of(tx: Connection, member_id: str) -> tuple[Group, ...]:
    """The groups a member is in, the one joined first before the others."""
    rows = tx.execute(
        select(grower_group)
        .join(membership, membership.c.group_id == grower_group.c.id)
        .where(membership.c.member_id == member_id)
        .order_by(membership.c.joined_at, grower_group.c.id)
    )
    return tuple(Group(row.id, row.name, row.settings) for row in rows)


def called(tx: Connection, group_id: str, name: str) -> tuple[Member, ...]:
    """Who in the group has that name; case and gaps do not count."""
    wanted = "".join(name.casefold().split())
    return tuple(
        each
        for each in members_of(tx, group_id)
        if each.name and "".join(each.name.casefold().split()) == wanted
    )


def carried(tx: Connection, holder_id: str) -> tuple[Member, ...]:
    """Those who have no phone of their own and whose words this member's phone carries."""
    rows = tx.execute(
        select(member).where(member.c.via_member_id == holder_id).order_by(member.c.created_at)
    )
    return tuple(_member(row) for row in rows)


def roles_in(tx: Connection, group_id: str) -> dict[str, str]:
    """Each one's role in the group, by member."""
    rows = tx.execute(
        select(membership.c.member_id, membership.c.role).where(membership.c.group_id == group_id)
    )
    return {row.member_id: row.role for row in rows}


def role_in(tx: Connection, group_id: str, member_id: str) -> str:
    """The member's role in the group; empty if not in it."""
    found = tx.execute(_ROLE, {"of_group": group_id, "of_member": member_id}).scalar()
    return found or ""


def welcome(  # noqa: PLR0913 - a newcomer has this many sides
    tx: Connection,
    *,
    member_id: str,
    group_id: str,
    channel: str,
    address: str,
    now: datetime,
    name: str = "",
    language: str = "",
    zone: str = "UTC",
    country: str = "",
    noticeboard: bool = False,
    zone_unsure: bool = False,
) -> Member:
    """A new member, alone in a new group, reached at this address."""
    tx.execute(insert(grower_group).values(id=group_id, name="", settings={}, created_at=now))
    tx.execute(
        insert(member).values(
            id=member_id,
            name=name,
            language=language,
            zone=zone,
            country=country,
            settings={"zone_unsure": True} if zone_unsure else {},
            group_id=group_id,
            created_at=now,
        )
    )
    tx.execute(
        insert(membership).values(
            group_id=group_id, member_id=member_id, role="keeper", joined_at=now
        )
    )
    tx.execute(
        insert(addresses).values(
            channel=channel,
            address=address,
            member_id=member_id,
            noticeboard=noticeboard,
            heard_at=now,
        )
    )
    return cast("Member", by_id(tx, member_id))


def settle_language(tx: Connection, member_id: str, language: str) -> None:
    """The language a newcomer wrote in is theirs until they say otherwise."""
    tx.execute(update(member).where(member.c.id == member_id).values(language=language))


def lock_group(tx: Connection, group_id: str, *, wait: bool) -> bool:
    """Hold the group to the end of the transaction; False: another worker has it.

    Everything that is recorded, and every rule, belongs to a group: who holds it is alone there.
    """
    query = select(grower_group.c.id).where(grower_group.c.id == group_id)
    return tx.execute(query.with_for_update(skip_locked=not wait)).first() is not None


def not_busy(tx: Connection, member_ids: Sequence[str], most: int) -> list[str]:
    """Those of the members whose group no other worker holds, in their order; held from now on.

    No more than `most` groups are held: the others are left to whoever comes meanwhile.
    """
    of = {
        row.id: row.group_id
        for row in tx.execute(
            select(member.c.id, member.c.group_id).where(member.c.id.in_(list(member_ids)))
        )
    }
    # Whoever has waited longest first: no group is passed over while others keep coming.
    groups = list(dict.fromkeys(of[each] for each in member_ids if each in of))
    if not groups:
        return list(member_ids)[:most]
    place = case({group: number for number, group in enumerate(groups)}, value=grower_group.c.id)
    held = set(
        tx.execute(
            select(grower_group.c.id)
            .where(grower_group.c.id.in_(groups))
            .order_by(place)
            .limit(most)
            .with_for_update(skip_locked=True)
        ).scalars()
    )
    return [each for each in member_ids if each not in of or of[each] in held][:most]


def _member(row: Row[Any]) -> Member:
    return Member(
        id=row.id,
        name=row.name,
        language=row.language,
        zone=row.zone,
        hour=time.fromisoformat(row.hour),
        country=row.country,
        settings=row.settings,
        group_id=row.group_id,
        stopped_at=row.stopped_at,
        created_at=row.created_at,
        via_member_id=row.via_member_id or "",
    )
