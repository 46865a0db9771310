"""Drains the outbox of one channel: marks before and after each try, paces, retries, gives up."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Row

from bot.messages import Became, Outcome
from bot.ports import Channel
from bot.records import outbox, pacing, people
from bot.records.store import Store

log = logging.getLogger(__name__)

LEASE = timedelta(seconds=60)
MOST_TRIES = 8
FIRST_WAIT_S = 5.0
LONGEST_WAIT_S = 3600.0


@dataclass(slots=True)
class Courier:
    """One channel's courier. Takes the moment as an argument; never sleeps."""

    store: Store
    channel: Channel

    def drain(self, now: datetime, most: int = 30) -> int:
        """Send what may go now; how many were tried. What was left by a lost courier goes first."""
        self._adopt(now)
        token = self.store.new_id()
        with self.store.begin() as tx:
            rows = outbox.claim(tx, self.channel.name, token, now, LEASE, most)
            rows = pacing.hold_back(tx, rows, self.channel.pace, now)
        for row in rows:
            if self._stopped(row, token):
                continue
            outcome = self.channel.send(outbox.outgoing_of(row))
            self._mark(row, token, outcome, now)
        return len(rows)

    def _stopped(self, row: Row[Any], token: str) -> bool:
        """Look once more: a STOP may have come while this row waited its turn."""
        if row.kind == "last":
            return False
        with self.store.begin() as tx:
            member = people.by_id(tx, row.member_id)
            if member is not None and member.stopped_at is None:
                return False
            outbox.mark(tx, row.id, token, status="dropped", cause="stopped")
        return True

    def _adopt(self, now: datetime) -> None:
        """Rows whose courier was lost may have arrived: they go by the unknown rule."""
        with self.store.begin() as tx:
            for row in outbox.orphaned(tx, self.channel.name, now):
                self._unknown(tx, row, None, "courier lost", now)

    def _mark(self, row: Row[Any], token: str, outcome: Outcome, now: datetime) -> None:
        with self.store.begin() as tx:
            match outcome.became:
                case Became.SENT:
                    outbox.mark(
                        tx,
                        row.id,
                        token,
                        status="sent",
                        sent_at=now,
                        outside_id=outcome.outside_id or None,
                        cause="",
                    )
                case Became.REFUSED:
                    outbox.mark(tx, row.id, token, status="refused", cause=outcome.cause)
                    if outcome.dead_address:
                        people.died(tx, row.channel, row.address, now)
                case Became.LATER:
                    self._later(tx, row, token, outcome, now)
                case Became.UNKNOWN:
                    self._unknown(tx, row, token, outcome.cause, now)
            if outcome.new_address:
                people.moved(tx, row.channel, row.address, outcome.new_address)

    def _later(self, tx: Any, row: Row[Any], token: str, outcome: Outcome, now: datetime) -> None:
        if outcome.retry_after_s is not None:
            free_at = now + timedelta(seconds=outcome.retry_after_s)
            whole = "" if outcome.whole_channel else row.address
            pacing.block(tx, row.channel, whole, free_at)
        elif row.attempts >= MOST_TRIES:
            outbox.mark(tx, row.id, token, status="refused", cause=f"given up: {outcome.cause}")
            return
        else:
            free_at = now + timedelta(seconds=backoff_s(row.attempts))
        outbox.mark(
            tx,
            row.id,
            token,
            status="waiting",
            not_before_at=free_at,
            address=outcome.new_address or row.address,
            cause=outcome.cause,
        )

    def _unknown(
        self, tx: Any, row: Row[Any], token: str | None, cause: str, now: datetime
    ) -> None:
        """The written rule for what may have arrived: once more, and never a third time.

        A channel that finds our key on the far side makes the second try harmless.
        """
        if row.attempts >= 2:
            outbox.mark(tx, row.id, token, status="unknown", cause=cause)
            return
        outbox.mark(
            tx,
            row.id,
            token,
            status="waiting",
            not_before_at=now + timedelta(seconds=FIRST_WAIT_S),
            cause=f"unknown: {cause}",
        )


def backoff_s(attempts: int) -> float:
    """Seconds to wait after so many tries: doubling from 5, never over an hour.

    >>> [backoff_s(n) for n in (1, 2, 3, 20)]
    [5.0, 10.0, 20.0, 3600.0]
    """
    return float(min(FIRST_WAIT_S * 2 ** (attempts - 1), LONGEST_WAIT_S))
