"""The record read back: subjects with the entries that still stand."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, TypeVar

from sqlalchemy import Connection, Row, Select, bindparam, func, or_, select

from bot.craft.entries import Entry, Head
from bot.records.tables import entry, rule, subject

S = TypeVar("S")

_HEARD_AS = {"batch": "barrel"}
"""What people call a kind of subject, where that differs."""
Fold = Callable[[Head, Sequence[Entry]], S]


def standing(*columns: Any) -> Select[Any]:
    """A query over the entries nobody took back, oldest first."""
    later = entry.alias()
    return (
        select(*columns)
        .where(
            entry.c.reverts.is_(None),
            ~select(later.c.id).where(later.c.reverts == entry.c.id).exists(),
        )
        .order_by(entry.c.id)
    )


def _heads(*conditions: Any) -> Select[Any]:
    return (
        select(subject)
        .where(subject.c.void.is_(False), *conditions)
        .order_by(subject.c.opened_at, subject.c.code)
    )


_OF_GROUP = (
    subject.c.group_id == bindparam("of_group"),
    subject.c.kind == bindparam("of_kind"),
)
# Statements of every exchange are built once: building one costs as much as running it.
_OPEN = _heads(*_OF_GROUP, subject.c.closed_at.is_(None))
_ALL = _heads(*_OF_GROUP)
_WITH = select(subject.c.group_id).where(
    subject.c.group_id.in_(bindparam("of_groups", expanding=True)),
    subject.c.kind == bindparam("of_kind"),
    subject.c.closed_at.is_(None),
    subject.c.void.is_(False),
)
_THESE = _heads(
    subject.c.id.in_(bindparam("these", expanding=True)), subject.c.kind == bindparam("of_kind")
)
_ENTRIES = standing(entry).where(entry.c.subject_id.in_(bindparam("these", expanding=True)))
_KEPT = select(
    subject.c.id, subject.c.kind, subject.c.group_id, subject.c.member_id, subject.c.closed_at
).where(subject.c.id.in_(bindparam("these", expanding=True)), subject.c.void.is_(False))
_STATE = select(subject.c.closed_at, subject.c.void, subject.c.member_id, subject.c.group_id).where(
    subject.c.id == bindparam("of_id")
)
_NAMES = (
    select(subject.c.kind, subject.c.code)
    .where(
        subject.c.group_id == bindparam("of_group"),
        subject.c.closed_at.is_(None),
        subject.c.void.is_(False),
    )
    .order_by(subject.c.opened_at)
)


def open_subjects(tx: Connection, group_id: str, kind: str, fold: Fold[S]) -> tuple[S, ...]:
    """The group's open subjects of a kind, folded, oldest first."""
    return _folded(tx, _OPEN, {"of_group": group_id, "of_kind": kind}, fold)


def groups_with(tx: Connection, group_ids: Iterable[str], kind: str) -> set[str]:
    """Those of the groups in which a subject of a kind is open."""
    return set(tx.execute(_WITH, {"of_groups": sorted(set(group_ids)), "of_kind": kind}).scalars())


def all_subjects(tx: Connection, group_id: str, kind: str, fold: Fold[S]) -> tuple[S, ...]:
    """The group's subjects of a kind, the closed ones too, folded, oldest first."""
    return _folded(tx, _ALL, {"of_group": group_id, "of_kind": kind}, fold)


def by_ids(tx: Connection, ids: Iterable[str], kind: str, fold: Fold[S]) -> tuple[S, ...]:
    """The subjects of these identities that are of the kind, folded."""
    return _folded(tx, _THESE, {"these": list(ids), "of_kind": kind}, fold)


def told(tx: Connection, subject_id: str) -> tuple[Head, list[Entry]]:
    """One subject's head and its standing entries, oldest first."""
    row = tx.execute(select(subject).where(subject.c.id == subject_id)).one()
    head = Head(row.id, row.kind, row.code, row.group_id, row.opened_at, row.zone)
    rows = tx.execute(standing(entry).where(entry.c.subject_id == subject_id))
    return head, [_entry(each) for each in rows]


@dataclass(frozen=True, slots=True)
class Kept:
    """How a subject is kept: its kind, whose it is, and whether it is open."""

    kind: str
    group_id: str
    member_id: str
    is_open: bool


def kept_as(tx: Connection, ids: Iterable[str]) -> dict[str, Kept]:
    """How each of these subjects is kept; void ones are left out."""
    return {
        row.id: Kept(row.kind, row.group_id, row.member_id, row.closed_at is None)
        for row in tx.execute(_KEPT, {"these": list(ids)})
    }


def open_ids(tx: Connection, group_id: str) -> tuple[str, ...]:
    """The identities of everything open in the group."""
    rows = tx.execute(
        select(subject.c.id).where(
            subject.c.group_id == group_id,
            subject.c.closed_at.is_(None),
            subject.c.void.is_(False),
        )
    )
    return tuple(row.id for row in rows)


def open_heads(tx: Connection, group_id: str) -> list[tuple[str, str, str]]:
    """Identity, kind and short name of everything open in the group, oldest first."""
    rows = tx.execute(
        select(subject.c.id, subject.c.kind, subject.c.code)
        .where(
            subject.c.group_id == group_id,
            subject.c.closed_at.is_(None),
            subject.c.void.is_(False),
        )
        .order_by(subject.c.opened_at, subject.c.code)
    )
    return [(row.id, row.kind, row.code) for row in rows]


def brought_by(tx: Connection, member_id: str, group_id: str) -> list[tuple[str, str]]:
    """What is open in the group and came into it with a member: identities and short names."""
    rows = tx.execute(
        select(subject.c.id, subject.c.code)
        .where(
            subject.c.group_id == group_id,
            subject.c.member_id == member_id,
            subject.c.closed_at.is_(None),
            subject.c.void.is_(False),
            subject.c.id.in_(
                standing(entry.c.subject_id)
                .where(entry.c.kind == "moved", entry.c.member_id == member_id)
                .order_by(None)
            ),
        )
        .order_by(subject.c.opened_at, subject.c.code)
    )
    return [(row.id, row.code) for row in rows]


def free_code(tx: Connection, group_id: str, code: str, taken: Collection[str] = ()) -> str:
    """The same short name in another group, or the next of its kind that is free there."""
    query = select(subject.c.code).where(subject.c.group_id == group_id)
    used = {*tx.execute(query).scalars(), *taken}
    if code not in used:
        return code
    prefix = code.rstrip("0123456789") or code
    n = 1
    while f"{prefix}{n}" in used:
        n += 1
    return f"{prefix}{n}"


def tender_of(tx: Connection, subject_id: str) -> str:
    """Who opened the subject, and so tends it where nothing else is arranged."""
    row = tx.execute(_STATE, {"of_id": subject_id}).first()
    return str(row.member_id) if row is not None else ""


def group_of(tx: Connection, subject_id: str) -> str:
    """Which group the subject belongs to."""
    row = tx.execute(_STATE, {"of_id": subject_id}).first()
    return str(row.group_id) if row is not None else ""


def tends(tx: Connection, member_id: str, kind: str) -> bool:
    """Whether the member tends an open subject of a kind."""
    return tx.execute(_TENDS, {"of_member": member_id, "of_kind": kind}).first() is not None


_TENDS = (
    select(rule.c.id)
    .join(subject, subject.c.id == rule.c.subject_id)
    .where(
        rule.c.member_id == bindparam("of_member"),
        subject.c.kind == bindparam("of_kind"),
        subject.c.closed_at.is_(None),
        subject.c.void.is_(False),
    )
    .limit(1)
)


def names(tx: Connection, group_id: str) -> dict[str, tuple[str, ...]]:
    """The short names in use in the group, by kind of subject."""
    rows = tx.execute(_NAMES, {"of_group": group_id})
    found: dict[str, tuple[str, ...]] = {}
    for row in rows:
        kind = _HEARD_AS.get(row.kind, row.kind)
        found[kind] = (*found.get(kind, ()), row.code)
    return found


def next_code(tx: Connection, group_id: str, prefix: str, *, bare: bool = False) -> str:
    """The next short name of a prefix that the group has never used: B1, B2.

    With `bare` the prefix itself comes first: tomato, tomato2.
    """
    used = set(
        tx.execute(
            select(subject.c.code).where(
                subject.c.group_id == group_id, subject.c.code.startswith(prefix)
            )
        ).scalars()
    )
    if bare and prefix not in used:
        return prefix
    n = 2 if bare else 1
    while f"{prefix}{n}" in used:
        n += 1
    return f"{prefix}{n}"


def log(tx: Connection, group_id: str, kinds: Sequence[str], since: datetime) -> list[Entry]:
    """The group's standing entries of these kinds that happened after `since`."""
    rows = tx.execute(_LOG, {"of_group": group_id, "of_kinds": list(kinds), "since": since})
    return [_entry(row) for row in rows]


_LOG = standing(entry).where(
    entry.c.group_id == bindparam("of_group"),
    entry.c.kind.in_(bindparam("of_kinds", expanding=True)),
    entry.c.at > bindparam("since"),
)


def last_exchange(tx: Connection, member_id: str) -> int | None:
    """The newest exchange in which this member recorded something that still stands.

    What they wrote for somebody without a phone counts as theirs too.
    """
    later = entry.alias()
    return tx.execute(
        select(func.max(entry.c.exchange_id)).where(
            or_(entry.c.member_id == member_id, entry.c.by_member_id == member_id),
            entry.c.reverts.is_(None),
            entry.c.effect != "log",
            ~select(later.c.id).where(later.c.reverts == entry.c.id).exists(),
        )
    ).scalar()


def recorded_in(tx: Connection, exchange_id: int, member_id: str) -> list[tuple[str, str]]:
    """What a member recorded in one exchange: entry kinds with the subject's short name."""
    rows = tx.execute(
        standing(entry.c.kind, entry.c.data, subject.c.code)
        .outerjoin_from(entry, subject, subject.c.id == entry.c.subject_id)
        .where(
            entry.c.exchange_id == exchange_id,
            or_(entry.c.member_id == member_id, entry.c.by_member_id == member_id),
            entry.c.effect != "log",
        )
    )
    return [(row.kind, row.code or str(row.data.get("name", ""))) for row in rows]


def _folded(tx: Connection, query: Select[Any], of: dict[str, Any], fold: Fold[S]) -> tuple[S, ...]:
    heads = [
        Head(row.id, row.kind, row.code, row.group_id, row.opened_at, row.zone)
        for row in tx.execute(query, of)
    ]
    if not heads:
        return ()
    told: dict[str, list[Entry]] = defaultdict(list)
    for row in tx.execute(_ENTRIES, {"these": [head.id for head in heads]}):
        told[row.subject_id].append(_entry(row))
    return tuple(fold(head, told[head.id]) for head in heads)


def _entry(row: Row[Any]) -> Entry:
    return Entry(row.kind, row.at, row.data, row.member_id)
