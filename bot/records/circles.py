"""Changes of who is in which group, and of what belongs to it, written down so that undo works."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from sqlalchemy import delete, insert, select, update

from bot.records import journal, people
from bot.records.changes import (
    Added,
    Became,
    Disbanded,
    Founded,
    Invited,
    InviteUsed,
    Joined,
    Left,
    Moved,
    Renamed,
    Tried,
)
from bot.records.tables import attempt, grower_group, invite, member, membership, subject

if TYPE_CHECKING:
    from bot.records.recording import Writing


def write(writing: Writing, change: object) -> None:
    """Write one change of a group.

    Raises:
        TypeError: it is no change that is written.
    """
    match change:
        case Founded():
            group_id = _new_group(writing, change.name)
            _put(writing, "founded", writing.member.id, group_id, "keeper", active=group_id)
        case Joined():
            people.lock_group(writing.tx, change.group_id, wait=True)
            _put(
                writing,
                "came",
                writing.member.id,
                change.group_id,
                change.role,
                active=change.group_id,
            )
        case Left():
            group_id = writing.member.group_id
            _leave(writing, "gone", change.member_id, group_id, takes=change.takes)
            if change.ends_invites:
                _end_invites(writing, group_id)
        case Became():
            _put(writing, "role", change.member_id, writing.member.group_id, change.role)
        case Added():
            _add(writing, change)
        case Invited():
            _invite(writing, change)
        case InviteUsed():
            _use(writing, change.code, 1)
            writing.entry(
                "invite-used",
                writing.now,
                {"of": "invite-used", "code": change.code},
                None,
                effect="set",
            )
        case Moved() | Renamed():
            _move(writing, change) if isinstance(change, Moved) else _rename(writing, change)
        case Disbanded():
            _disband(writing)
        case Tried():
            writing.tx.execute(
                insert(attempt).values(what=change.what, who=change.who, at=writing.now)
            )
        case _:
            raise TypeError(f"{type(change).__name__} is not written here")


def unset(writing: Writing, data: Mapping[str, Any]) -> None:
    """Make undone what an entry of a group did."""
    if data["of"] == "membership":
        _role(writing, data["member_id"], data["group_id"], data["before"])
        if data["active_before"] != data["active_after"]:
            _active(writing, data["member_id"], data["active_before"])
        writing.member_touched = True
    elif data["of"] == "invite":
        writing.tx.execute(
            update(invite).where(invite.c.code == data["code"]).values(expires_at=writing.now)
        )
    elif data["of"] == "invite-used":
        _use(writing, data["code"], -1)
    elif data["of"] == "code":
        _call(writing, data["subject_id"], data["before"])
    else:
        _belong(writing, data["subject_id"], data["from_group"], data["from_code"])


# --- membership -------------------------------------------------------------------------------


def _put(
    writing: Writing, kind: str, member_id: str, group_id: str, role: str, *, active: str = ""
) -> None:
    """One's role in a group ("": none any more), and the group of their messages where it moves."""
    before = people.role_in(writing.tx, group_id, member_id)
    one = people.by_id(writing.tx, member_id)
    stood = one.group_id if one is not None else ""
    writing.entry(
        kind,
        writing.now,
        {
            "of": "membership",
            "name": one.name if one is not None else "",
            "member_id": member_id,
            "group_id": group_id,
            "before": before,
            "after": role,
            "active_before": stood,
            "active_after": active or stood,
        },
        None,
        effect="set",
        group_id=group_id,
    )
    _role(writing, member_id, group_id, role)
    if active and active != stood:
        _active(writing, member_id, active)
    writing.member_touched = True


def _role(writing: Writing, member_id: str, group_id: str, role: str) -> None:
    here = (membership.c.member_id == member_id, membership.c.group_id == group_id)
    if not role:
        writing.tx.execute(delete(membership).where(*here))
    elif people.role_in(writing.tx, group_id, member_id):
        writing.tx.execute(update(membership).where(*here).values(role=role))
    else:
        writing.tx.execute(
            insert(membership).values(
                group_id=group_id, member_id=member_id, role=role, joined_at=writing.now
            )
        )


def _active(writing: Writing, member_id: str, group_id: str) -> None:
    writing.tx.execute(update(member).where(member.c.id == member_id).values(group_id=group_id))


def _new_group(writing: Writing, name: str = "") -> str:
    group_id = writing.store.new_id()
    writing.tx.execute(
        insert(grower_group).values(id=group_id, name=name, settings={}, created_at=writing.now)
    )
    return group_id


def _leave(
    writing: Writing, kind: str, member_id: str, group_id: str, *, takes: bool = True
) -> None:
    """Out of one group; into another of theirs, or a new one of their own."""
    others = [each.id for each in people.groups_of(writing.tx, member_id) if each.id != group_id]
    alone = others[-1] if others else _new_group(writing)
    if not others:
        _put(writing, "alone", member_id, alone, "keeper")
    one = people.by_id(writing.tx, member_id)
    moves = one is not None and one.group_id == group_id
    _put(writing, kind, member_id, group_id, "", active=alone if moves else "")
    brought = journal.brought_by(writing.tx, member_id, group_id) if takes else ()
    for subject_id, code in brought:
        free = journal.free_code(writing.tx, alone, code)
        _move(writing, Moved(subject_id, alone, free))


def _add(writing: Writing, change: Added) -> None:
    """Somebody who has no phone: the writer's language, zone and hour are theirs."""
    writer = people.by_id(writing.tx, writing.by_member_id or writing.member.id)
    assert writer is not None  # noqa: S101 - whoever writes is there
    member_id = writing.store.new_id()
    group_id = change.group_id or writing.member.group_id
    writing.tx.execute(
        insert(member).values(
            id=member_id,
            name=change.name,
            language=writer.language,
            zone=writer.zone,
            hour=writer.hour.strftime("%H:%M"),
            country=writer.country,
            settings={},
            group_id=group_id,
            via_member_id=writer.id,
            created_at=writing.now,
        )
    )
    _put(writing, "added", member_id, group_id, change.role)
    writing.added_id = member_id


def _disband(writing: Writing) -> None:
    group_id = writing.member.group_id
    for subject_id in journal.open_ids(writing.tx, group_id):
        writing.entry("disbanded", writing.now, {}, subject_id, effect="close")
        writing.tx.execute(
            update(subject).where(subject.c.id == subject_id).values(closed_at=writing.now)
        )
    _end_invites(writing, group_id)
    for each in people.members_of(writing.tx, group_id):
        _leave(writing, "disbanded", each.id, group_id)


# --- invitations ------------------------------------------------------------------------------


def _invite(writing: Writing, change: Invited) -> None:
    writing.tx.execute(
        insert(invite).values(
            code=change.code,
            group_id=writing.member.group_id,
            member_id=writing.member.id,
            name=change.name,
            made_at=writing.now,
            expires_at=change.expires_at,
            uses_left=change.uses,
        )
    )
    writing.entry("invited", writing.now, {"of": "invite", "code": change.code}, None, effect="set")


def _end_invites(writing: Writing, group_id: str) -> None:
    writing.tx.execute(
        update(invite)
        .where(invite.c.group_id == group_id, invite.c.expires_at > writing.now)
        .values(expires_at=writing.now)
    )


def _use(writing: Writing, code: str, n: int) -> None:
    writing.tx.execute(
        update(invite).where(invite.c.code == code).values(uses_left=invite.c.uses_left - n)
    )


# --- subjects ---------------------------------------------------------------------------------


def _move(writing: Writing, change: Moved) -> None:
    row = writing.tx.execute(select(subject).where(subject.c.id == change.subject_id)).one()
    writing.entry(
        "moved",
        writing.now,
        {
            "of": "subject",
            "subject_id": row.id,
            "from_group": row.group_id,
            "from_code": row.code,
            "to_group": change.group_id,
            "to_code": change.code,
        },
        row.id,
        effect="set",
        group_id=change.group_id,
    )
    _belong(writing, row.id, change.group_id, change.code)


def _belong(writing: Writing, subject_id: str, group_id: str, code: str) -> None:
    writing.tx.execute(
        update(subject).where(subject.c.id == subject_id).values(group_id=group_id, code=code)
    )
    writing.touched.add(subject_id)


def _rename(writing: Writing, change: Renamed) -> None:
    row = writing.tx.execute(select(subject).where(subject.c.id == change.subject_id)).one()
    writing.entry(
        "named",
        writing.now,
        {"of": "code", "subject_id": row.id, "before": row.code, "after": change.code},
        row.id,
        effect="set",
    )
    _call(writing, row.id, change.code)


def _call(writing: Writing, subject_id: str, code: str) -> None:
    writing.tx.execute(update(subject).where(subject.c.id == subject_id).values(code=code))
    writing.touched.add(subject_id)
