"""Changes written down: entries are only ever added, what they touch follows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, insert, or_, select, update

from bot.records import circles, forgetting, journal, people, questions
from bot.records.changes import (
    Change,
    Closed,
    Forgotten,
    GroupSet,
    MemberSet,
    Noted,
    Opened,
    Recorded,
    Resumed,
    Stopped,
    Undone,
)
from bot.records.people import Group, Member
from bot.records.store import Store
from bot.records.tables import entry, grower_group, member, outbox, subject

_COLUMNS = frozenset({"name", "language", "zone", "hour", "country", "group_id"})
_OVERDUE_HOURS = 12
_ENTRY = insert(entry)


@dataclass(slots=True)
class Writing:
    """One exchange's pen: who writes, when, under which exchange, and what it touched."""

    tx: Connection
    store: Store
    exchange_id: int
    member: Member
    now: datetime
    touched: set[str] = field(default_factory=set)
    member_touched: bool = False
    by_member_id: str = ""
    """Who typed it, where that is somebody else than whom it is written for."""
    groups_touched: set[str] = field(default_factory=set)
    added_id: str = ""
    member_changed: bool = False
    """Whether something was written that may have changed whoever writes."""
    group: Group | None = None
    """The member's group, as it was read with them."""
    is_fresh: bool = True
    """Whether both are as they were just read: nothing was asked or told in this exchange yet."""

    def as_now(self) -> Member:
        """Whoever writes, read again where something came before in the same message."""
        if not self.is_fresh:
            self.member = people.by_id(self.tx, self.member.id) or self.member
            self.group = None
        self.is_fresh = False
        return self.member

    def group_now(self) -> Group:
        """The group of whoever writes."""
        if self.group is None or self.group.id != self.member.group_id:
            self.group = people.group_of(self.tx, self.member.group_id)
        return self.group

    def write(self, change: Change) -> str:
        """Write one change; what comes back is the subject's identity, where there is one."""
        self.member_changed |= not isinstance(change, Opened | Recorded | Closed | Noted)
        match change:
            case Opened():
                return self._open(change)
            case Recorded():
                effect = "log" if change.aside else ""
                self.entry(change.entry, change.at, change.data, change.subject_id, effect=effect)
            case Closed():
                self._close(change)
            case MemberSet():
                self._set_member(change.name, change.value)
            case GroupSet():
                self._set_group(change.name, change.value)
            case Noted():
                self.entry(change.entry, change.at, change.data, None, effect="log")
            case Undone():
                self._undo(change.exchange_id)
            case Stopped():
                self._stop(self.now)
            case Resumed():
                self._stop(None)
            case Forgotten():
                forgetting.forget(self.tx, self.member.id)
            case _:
                circles.write(self, change)
        return getattr(change, "subject_id", "")

    def _open(self, change: Opened) -> str:
        code = change.code
        if not code and not change.lasting:
            code = journal.next_code(self.tx, self.member.group_id, change.prefix)
        subject_id = self.store.new_id()
        self.tx.execute(
            insert(subject).values(
                id=subject_id,
                kind=change.kind,
                code=code,
                group_id=self.member.group_id,
                member_id=self.member.id,
                zone=self.member.zone,
                opened_at=change.at,
            )
        )
        effect = ("log" if change.aside else "") if change.lasting else "open"
        self.entry(change.entry, change.at, change.data, subject_id, effect=effect)
        return subject_id

    def _close(self, change: Closed) -> None:
        self.entry(change.entry, change.at, change.data, change.subject_id, effect="close")
        self.tx.execute(
            update(subject).where(subject.c.id == change.subject_id).values(closed_at=change.at)
        )

    def entry(
        self,
        kind: str,
        at: datetime,
        data: Mapping[str, object],
        subject_id: str | None,
        *,
        effect: str = "",
        reverts: int | None = None,
        group_id: str = "",
    ) -> None:
        """Add one entry: of the group named, else of the member's."""
        self.tx.execute(
            _ENTRY,
            {
                "exchange_id": self.exchange_id,
                "group_id": group_id or self.member.group_id,
                "subject_id": subject_id,
                "member_id": self.member.id,
                "kind": kind,
                "at": at,
                "recorded_at": self.now,
                "data": dict(data),
                "effect": effect,
                "reverts": reverts,
                "by_member_id": self.by_member_id or None,
            },
        )
        if subject_id:
            self.touched.add(subject_id)

    def _set_member(self, name: str, value: object) -> None:
        row = self.tx.execute(select(member).where(member.c.id == self.member.id)).one()
        before = getattr(row, name) if name in _COLUMNS else row.settings.get(name)
        self.entry(
            "set",
            self.now,
            {"of": "member", "name": name, "before": before, "after": value},
            None,
            effect="set",
        )
        self._put_member(row.id, row.settings, name, value)

    def _put_member(
        self, member_id: str, settings: Mapping[str, Any], name: str, value: object
    ) -> None:
        changed = {name: value} if name in _COLUMNS else {"settings": _with(settings, name, value)}
        self.tx.execute(update(member).where(member.c.id == member_id).values(**changed))
        self.member_touched = True

    def _set_group(self, name: str, value: object) -> None:
        row = self.tx.execute(
            select(grower_group).where(grower_group.c.id == self.member.group_id)
        ).one()
        before = row.name if name == "name" else row.settings.get(name)
        self.entry(
            "set",
            self.now,
            {"of": "group", "name": name, "before": before, "after": value},
            None,
            effect="set",
        )
        self._put_group(row.id, row.settings, name, value)

    def _put_group(
        self, group_id: str, settings: Mapping[str, Any], name: str, value: object
    ) -> None:
        changed = {"name": value} if name == "name" else {"settings": _with(settings, name, value)}
        self.tx.execute(update(grower_group).where(grower_group.c.id == group_id).values(**changed))
        self.member_touched = True

    def _stop(self, at: datetime | None) -> None:
        self.tx.execute(update(member).where(member.c.id == self.member.id).values(stopped_at=at))
        if at is not None:
            self.tx.execute(
                update(outbox)
                .where(outbox.c.member_id == self.member.id, outbox.c.status == "waiting")
                .values(status="dropped", cause="stopped")
            )
        self.member_touched = True

    def _undo(self, exchange_id: int) -> None:
        mine = or_(entry.c.member_id == self.member.id, entry.c.by_member_id == self.member.id)
        rows = self.tx.execute(
            journal.standing(entry).where(entry.c.exchange_id == exchange_id, mine)
        ).all()
        for row in reversed(rows):
            self.entry(
                "revert",
                self.now,
                {},
                row.subject_id,
                effect="log",
                reverts=row.id,
                group_id=row.group_id,
            )
            if row.effect == "open":
                self.tx.execute(
                    update(subject).where(subject.c.id == row.subject_id).values(void=True)
                )
            elif row.effect == "close":
                self.tx.execute(
                    update(subject).where(subject.c.id == row.subject_id).values(closed_at=None)
                )
            elif row.effect == "set":
                self._unset(row)
        self.tx.execute(
            update(outbox)
            .where(outbox.c.exchange_id == exchange_id, outbox.c.status == "waiting")
            .values(status="dropped", cause="undone")
        )
        questions.reopen(self.tx, exchange_id)

    def _unset(self, undone: Row[Any]) -> None:
        data: Mapping[str, Any] = undone.data
        if data["of"] == "member":
            row = self.tx.execute(select(member).where(member.c.id == undone.member_id)).one()
            self._put_member(row.id, row.settings, data["name"], data["before"])
        elif data["of"] == "group":
            row = self.tx.execute(
                select(grower_group).where(grower_group.c.id == undone.group_id)
            ).one()
            self._put_group(row.id, row.settings, data["name"], data["before"])
        else:
            circles.unset(self, data)


def _with(settings: Mapping[str, Any], name: str, value: object) -> dict[str, Any]:
    changed = {**settings, name: value}
    return {key: each for key, each in changed.items() if each is not None}
