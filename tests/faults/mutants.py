"""Deliberate mutants of the engine: each breaks one rule, and the checker must catch each."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

from sqlalchemy import update

from bot import courier as courier_room
from bot import due_members
from bot import marking as marking_room
from bot.messages import Became, Outcome
from bot.records import inbox, outbox, rules
from bot.records.tables import inbox as inbox_rows
from bot.records.tables import outbox as outbox_rows


def _put(room: Any, name: str, value: Any) -> None:
    setattr(room, name, value)


def no_dedupe() -> None:
    """A message that is handed in again gets another outside id."""
    keep = inbox.keep
    number = iter(range(10**9))

    def anew(store: Any, incoming: Any, now: Any) -> bool:
        import os  # noqa: PLC0415 - the same

        return keep(
            store,
            replace(incoming, outside_id=f"{incoming.outside_id}/{os.getpid()}.{next(number)}"),
            now,
        )

    _put(inbox, "keep", anew)


def advance_before_insert() -> None:
    """Due rules are advanced before their words are written, and some words never are."""
    from bot.reminding import Reminding  # noqa: PLC0415 - a mutant stands alone

    remind = Reminding._remind

    def early(self: Any, tx: Any, owners: Any, now: Any) -> None:
        lost = [each for each in owners if (hash(each) + now.day) % 3 == 0]
        if lost:
            rules.pass_by(tx, lost, now, "taken")
        left = [each for each in owners if each not in lost]
        remind(self, tx, left, now)

    _put(Reminding, "_remind", early)


def lease_ignored() -> None:
    """What another courier is sending is sent as well, and nobody owns up to it."""

    def anybody(tx: Any, channel: str, token: str, now: Any, lease: Any, limit: int) -> Any:
        del token, lease
        return tx.execute(
            outbox_rows.select()
            .where(
                outbox_rows.c.channel == channel,
                outbox_rows.c.status == "waiting",
                outbox_rows.c.not_before_at <= now,
            )
            .order_by(outbox_rows.c.id)
            .limit(limit)
        ).all()

    _put(outbox, "claim", anybody)
    _put(courier_room.Courier, "_may_go", lambda *_args: True)
    _put(
        outbox,
        "mark",
        lambda tx, number, _token, **changed: bool(
            tx.execute(
                update(outbox_rows).where(outbox_rows.c.id == number).values(**changed)
            ).rowcount
        ),
    )


def wrong_clock() -> None:
    """Rules are taken a day early."""
    ahead = timedelta(hours=20)
    owners, look, take = rules.owners_due, due_members.look, rules.take
    _put(rules, "owners_due", lambda tx, now, limit: owners(tx, now + ahead, limit))
    _put(due_members, "look", lambda tx, who, now: look(tx, who, now + ahead))
    _put(rules, "take", lambda found, now, until: take(found, now + ahead, until))


def fold_all() -> None:
    """Everything that is due is folded away as if a newer day stood for it."""
    take = rules.take

    def folded(found: Any, now: Any, until: Any) -> Any:
        return [
            replace(each, lapsed=each.due.due_on.day % 2 == 0) for each in take(found, now, until)
        ]

    _put(rules, "take", folded)


def no_stop_check() -> None:
    """Nobody looks again before a send."""
    _put(courier_room.Courier, "_may_go", lambda *_args: True)


def late_rollback() -> None:
    """A message is marked as handled before its exchange has been committed."""
    from bot.exchange import Exchange  # noqa: PLC0415 - a mutant stands alone

    answer = Exchange._answer

    def half(self: Any, tx: Any, row: Any, now: Any) -> None:
        if row.id % 7 == 0:
            tx.execute(update(inbox_rows).where(inbox_rows.c.id == row.id).values(status="done"))
            return
        answer(self, tx, row, now)

    _put(Exchange, "_answer", half)


def lost_retry() -> None:
    """What a lost courier held is marked as sent."""
    _put(
        marking_room.Marking,
        "unknown",
        lambda _self, tx, row, token, _cause, _now: outbox.mark(tx, row.id, token, status="sent"),
    )
    send = courier_room.Courier._send

    def lossy(self: Any, row: Any) -> Outcome:
        if row.id % 5 == 0 and row.unknown_at is None:
            return Outcome(Became.UNKNOWN, "line dropped")
        return send(self, row)

    _put(courier_room.Courier, "_send", lossy)


APPLY: dict[str, Callable[[], None]] = {
    each.__name__: each
    for each in (
        no_dedupe,
        advance_before_insert,
        lease_ignored,
        wrong_clock,
        fold_all,
        no_stop_check,
        late_rollback,
        lost_retry,
    )
}
