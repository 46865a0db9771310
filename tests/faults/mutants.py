"""Deliberate mutants of the engine: each breaks one rule, and the checker must catch each."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import asdict, replace
from datetime import timedelta
from typing import Any

from sqlalchemy import insert, text, update

from bot import courier as courier_room
from bot import due_members
from bot import marking as marking_room
from bot.messages import Became, Outcome
from bot.posting import put
from bot.records import inbox, outbox, rules
from bot.records.tables import fired
from bot.records.tables import inbox as inbox_rows
from bot.records.tables import outbox as outbox_rows

WINDOW_S = 0.1
"""How long a mutant's window is open: for a kill to fall into it."""


def _put(room: Any, name: str, value: Any) -> None:
    setattr(room, name, value)


def no_dedupe() -> None:
    """A message that is handed in again is kept again: nothing is unique about its outside id."""

    def anew(store: Any, incoming: Any, now: Any) -> bool:
        with store.begin() as tx:
            tx.execute(text("ALTER TABLE inbox DROP CONSTRAINT IF EXISTS uq_inbox_channel"))
            tx.execute(
                insert(inbox_rows).values(
                    channel=incoming.channel,
                    outside_id=incoming.outside_id,
                    address=incoming.address,
                    body={**asdict(incoming), "sent_at": incoming.sent_at.isoformat()},
                    sent_at=incoming.sent_at,
                    received_at=now,
                    status="waiting",
                    cause="",
                )
            )
        return True

    _put(inbox, "keep", anew)


def advance_before_insert() -> None:
    """Due rules are advanced in one commit, and their words written in another."""
    from bot.reminding import Reminding  # noqa: PLC0415 - a mutant stands alone

    settle = rules.settle

    def early(self: Any, tx: Any, owners: Any, now: Any) -> None:
        with self.store.begin() as own:
            said = [self._words(own, each, now) for each in due_members.look(own, owners, now)]
            settle(own, [(day, "said", None) for each in said for day in each.taken], now)
        time.sleep(WINDOW_S)
        rows = put(tx, [each.post for each in said if each.post is not None], now)
        for each in said:
            for day in each.taken:
                outbox_id = None if each.post is None else rows.get(each.post.letter.key)
                tx.execute(
                    update(fired)
                    .where(fired.c.rule_id == day.rule_id, fired.c.due_on == day.due.due_on)
                    .values(outbox_id=outbox_id)
                )

    _put(Reminding, "_remind", early)


def lease_ignored() -> None:
    """What another courier is sending is taken over while it still sends."""
    claim = outbox.claim

    def anybody(tx: Any, channel: str, token: str, now: Any, *more: Any) -> Any:
        stolen = tx.execute(
            update(outbox_rows)
            .where(
                outbox_rows.c.channel == channel,
                outbox_rows.c.status == "sending",
                outbox_rows.c.token != token,
            )
            .values(token=token)
            .returning(*outbox_rows.c)
        ).all()
        return [*stolen, *claim(tx, channel, token, now, *more)]

    _put(outbox, "claim", anybody)


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
    """A message is marked as handled in one commit, and its exchange made in another."""
    from bot.exchange import Exchange  # noqa: PLC0415 - a mutant stands alone

    def half(self: Any, now: Any) -> bool:
        with self.store.begin() as tx:
            row = inbox.first_waiting(tx, self.store.is_sqlite)
            if row is None:
                return False
            tx.execute(update(inbox_rows).where(inbox_rows.c.id == row.id).values(status="done"))
        time.sleep(WINDOW_S)
        with self.store.begin() as tx:
            self._answer(tx, row, now)
        return True

    _put(Exchange, "message", half)


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
CAUGHT_BY = {
    "no_dedupe": "message m[0-9]+ is kept [2-9]",
    "advance_before_insert": "was said in no letter",
    "lease_ignored": "arrived [2-9] times and nobody owns up to it",
    "wrong_clock": "was never reminded on",
    "fold_all": "was never reminded on",
    "late_rollback": "has 0 answers",
    "lost_retry": "is marked sent and never arrived",
}
"""What the checker is to say of each, but for the one that `test_stop.py` catches."""
