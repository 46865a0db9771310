"""Open questions: rows set in the exchange's own transaction; they expire."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, bindparam, insert, select, update

from bot.facts import Fact, Option, Question
from bot.records.tables import question
from bot.records.values import pack, unpack


@dataclass(frozen=True, slots=True)
class Open:
    """A question that waits for its answer, and what it is about."""

    id: int
    question: Question
    subject_ids: tuple[str, ...]
    asked_at: datetime


@dataclass(frozen=True, slots=True)
class AskedBefore(Fact):
    """Stands for the words of a question that was asked in an earlier exchange."""

    words = "question.asked-before"


def ask(
    tx: Connection,
    member_id: str,
    asked: Question,
    subject_ids: Sequence[str],
    now: datetime,
    exchange_id: int | None,
) -> None:
    """Keep a question open for its hours; an older one about the same slot gives way."""
    body = {
        "request": pack(asked.request),
        "slot": asked.slot,
        "options": [[pack(option.value), _label(option.label)] for option in asked.options],
    }
    for row in tx.execute(
        select(question.c.id, question.c.body, question.c.subject_ids).where(
            question.c.member_id == member_id, question.c.closed_at.is_(None)
        )
    ):
        same = row.body["request"]["of"]["kind"] == asked.request.kind
        if same and row.body["slot"] == asked.slot:
            tx.execute(
                update(question)
                .where(question.c.id == row.id)
                .values(closed_at=now, closed_by=exchange_id)
            )
    tx.execute(
        insert(question).values(
            member_id=member_id,
            exchange_id=exchange_id,
            subject_ids=list(subject_ids),
            body=body,
            asked_at=now,
            expires_at=now + timedelta(hours=asked.valid_hours),
        )
    )


def _label(label: object) -> Any:
    """What can be kept of an option's words: a fact is worded anew, its number still names it."""
    return "" if isinstance(label, Fact) else pack(label)


_WAITING = (
    select(question)
    .where(
        question.c.member_id == bindparam("of_member"),
        question.c.closed_at.is_(None),
        question.c.expires_at > bindparam("at"),
    )
    .order_by(question.c.id.desc())
)


def waiting(tx: Connection, member_id: str, now: datetime) -> tuple[Open, ...]:
    """The member's open questions, the newest first."""
    rows = tx.execute(_WAITING, {"of_member": member_id, "at": now})
    return tuple(
        Open(
            row.id,
            Question(
                AskedBefore(),
                unpack(row.body["request"]),
                row.body["slot"],
                tuple(Option(unpack(value), unpack(label)) for value, label in row.body["options"]),
            ),
            tuple(row.subject_ids),
            row.asked_at,
        )
        for row in rows
    )


def close(tx: Connection, ids: Sequence[int], now: datetime, exchange_id: int | None) -> None:
    """The questions were answered by this exchange."""
    if ids:
        tx.execute(
            update(question)
            .where(question.c.id.in_(ids))
            .values(closed_at=now, closed_by=exchange_id)
        )


def reopen(tx: Connection, exchange_id: int) -> None:
    """What the exchange asked is void; what it answered is open again."""
    tx.execute(
        update(question)
        .where(question.c.closed_by == exchange_id)
        .values(closed_at=None, closed_by=None)
    )
    tx.execute(
        update(question)
        .where(question.c.exchange_id == exchange_id, question.c.closed_at.is_(None))
        .values(closed_at=question.c.asked_at)
    )
