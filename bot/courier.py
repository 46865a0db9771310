"""Drains the outbox of one channel: claims, looks once more, sends, and has it marked."""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row
from sqlalchemy.exc import DBAPIError

from bot.lanes import Lanes, Sent
from bot.marking import Batch, Marking
from bot.messages import Became, Outcome
from bot.ports import Channel
from bot.quiet import quiet_until
from bot.records import outbox, pacing
from bot.records.people import Member
from bot.records.standing import Standing, reply_waits, standings
from bot.records.store import Store, is_passing

log = logging.getLogger(__name__)

LEASE = timedelta(seconds=240)
"""Longer than twice what the slowest channel waits for an answer (a modem, 90 s)."""
MOST = 64
"""Rows claimed together. What cannot be begun in half a lease is given back."""
UNASKED = frozenset({"reminder", "notice"})
UNHEARD_WAIT = timedelta(seconds=1)
Owed = list[tuple["Row[Any]", "Outcome | None", Batch]]
"""Rows and what became of them (None: not begun), of which nothing is written yet."""


def _plain(_member: Member | None) -> str:
    return ""


def _no_time() -> float:
    return 0.0


def _going_on() -> bool:
    return False


@dataclass(slots=True)
class Courier:
    """One channel's courier. Takes the moment as an argument; never sleeps.

    `elapsed_s` is a clock that is never set, for the length of a lease. `again` words "the same
    message again" for a member. `ending` says that the program is to stop: what was claimed and
    not begun is given back.
    """

    store: Store
    channel: Channel
    again: Callable[[Member | None], str] = _plain
    elapsed_s: Callable[[], float] = _no_time
    ending: Callable[[], bool] = _going_on
    owed: Owed = field(default_factory=list, repr=False)
    _marking: Marking = field(init=False, repr=False)
    _closed: bool = False
    _pool: ThreadPoolExecutor | None = field(default=None, repr=False)

    def __post_init__(self) -> None:
        self._marking = Marking(self.again)

    def drain(self, now: datetime, most: int = MOST) -> int:
        """Send what may go now; how many were tried. What was left by a lost courier goes first."""
        batch = Batch(self.store.new_id(), now, self.elapsed_s)
        self._write_owed()
        if self._closed:
            return 0
        at_once = self.channel.pace.at_once
        lanes = Lanes(self._send, at_once, self._threads(at_once) if at_once > 1 else None)
        with self.store.begin() as tx:
            for row in outbox.orphaned(tx, self.channel.name, now):
                self._marking.unknown(tx, row, None, "courier lost", now)
            tried = self._claim(tx, lanes, batch, most)
            looked = lanes.heads()
            going = self._going(tx, looked, batch)
        return tried + self._deliver(lanes, looked, going, batch)

    def _claim(self, tx: Connection, lanes: Lanes, batch: Batch, most: int) -> int:
        """Take what may go now into the lanes; how many."""
        name, pace, now = self.channel.name, self.channel.pace, batch.moment()
        batch.held = {address: until for address, until in batch.held.items() if until > now}
        allowed = pacing.allowance(tx, name, pace, now, most)
        batch.doubted_since, batch.again_at = allowed.doubted_since, allowed.again_at
        if not allowed.most:
            return 0
        claimed = outbox.claim(tx, name, batch.token, now, LEASE, allowed.most, lanes.busy())
        rows = pacing.spread(tx, claimed, pace, now)
        pacing.spend(tx, name, pace, now, len(rows))
        lanes.add(rows)
        return len(rows)

    def begin_no_more(self) -> None:
        """The channel is about to close: what was claimed and not begun is given back."""
        self._closed = True

    def close(self) -> None:
        """Begin nothing more, and let the threads go when what is under way has ended."""
        self.begin_no_more()
        if self._pool is not None:
            self._pool.shutdown()

    def _threads(self, at_once: int) -> ThreadPoolExecutor:
        if self._pool is None:
            self._pool = ThreadPoolExecutor(at_once, f"{self.channel.name}-out")
        return self._pool

    def _deliver(
        self, lanes: Lanes, looked: Sequence[Row[Any]], going: Sequence[Row[Any]], batch: Batch
    ) -> int:
        """Send what was claimed; what became of each is written before the next to its address.

        What other lanes' sends came to is written in the same commit: under a burst that is most
        of the price of a send, and no more of them are unwritten at a crash than are under way.

        Returns how many more were claimed meanwhile, beside a send that is stuck.
        """
        ended: list[Sent] = []
        more = 0
        try:
            while lanes:
                ended = lanes.send(looked, going)
                with self.store.begin() as tx:
                    self._marking.mark(tx, ended, batch)
                    if lanes.is_stuck(ended) and not self._is_held_back(batch):
                        more += self._claim(tx, lanes, batch, lanes.free())
                    looked = lanes.heads()
                    going = self._going(tx, looked, batch)
                ended = []
        except Exception as fault:
            # The database went away. What is known is not forgotten with it, or words that surely
            # arrived would go once more.
            self.owed.extend((*each, batch) for each in [*ended, *lanes.landed()])
            self.owed.extend((row, None, batch) for row in lanes.left())
            if is_passing(fault):
                raise
            # It is there: what one message met is no reason to keep the others waiting.
            self._write_owed()
            if not (self._closed and isinstance(fault, RuntimeError)):
                raise  # else only its threads were let go meanwhile
        finally:
            lanes.let_go()
        return more

    def _write_owed(self) -> None:
        """What became of rows while the database was away; what was not begun is given back."""
        while self.owed:
            # Taken out first: the courier of a channel that was closed may still be at it too.
            row, outcome, batch = self.owed.pop(0)
            try:
                with self.store.begin() as tx:
                    if outcome is not None:
                        self._marking.mark(tx, [(row, outcome)], batch)
                    elif outbox.is_overtaken(tx, row.id):
                        self._marking.overtaken(tx, row, batch, batch.moment())
                    else:
                        self._marking.give_back(tx, row, batch, row.not_before_at)
            except Exception as fault:
                if is_passing(fault):
                    self.owed.insert(0, (row, outcome, batch))
                    raise
                # Its lease ends, and the rule for what may have arrived holds.
                log.exception("what became of message %s cannot be written", row.id)

    def _send(self, row: Row[Any]) -> Outcome:
        try:
            return self.channel.send(outbox.outgoing_of(row))
        except Exception as fault:
            log.exception("channel %s raised for message %s", self.channel.name, row.id)
            return Outcome(Became.UNKNOWN, type(fault).__name__)

    def _going(self, tx: Connection, rows: Sequence[Row[Any]], batch: Batch) -> list[Row[Any]]:
        """Look once more: a STOP may have come while these rows waited their turn."""
        if not rows:
            return []
        now = batch.moment()
        found = standings(tx, [row.id for row in rows], batch.token, now)
        # On a slow line a batch takes minutes: an answer passes what was claimed before it.
        passed = any(row.priority > outbox.REPLY for row in rows) and reply_waits(
            tx, self.channel.name, now
        )
        return [
            row
            for row in rows
            if row.id in found and self._goes(tx, row, found[row.id], passed, batch)
        ]

    def _goes(
        self, tx: Connection, row: Row[Any], standing: Standing, passed: bool, batch: Batch
    ) -> bool:
        """Whether it may go; one that cannot be judged keeps nobody else back."""
        try:
            return self._may_go(tx, row, standing, passed, batch)
        except Exception as fault:
            if isinstance(fault, DBAPIError):
                raise
            log.exception("message %s cannot be judged", row.id)
            outbox.mark(tx, row.id, batch.token, status="refused", cause=type(fault).__name__)
            return False

    def _is_held_back(self, batch: Batch) -> bool:
        """Whether nothing is to be begun now: the channel waits, or it is the end."""
        return batch.blocked_until > batch.moment() or self._closed or self.ending()

    def _may_go(
        self, tx: Connection, row: Row[Any], standing: Standing, passed: bool, batch: Batch
    ) -> bool:
        now = batch.moment()
        if not standing.mine:
            return False
        if standing.overtaken:
            self._marking.overtaken(tx, row, batch, now)
            return False
        if row.kind != "last" and (standing.stopped or not standing.known):
            self._marking.drop(tx, row, batch, "stopped")
            return False
        if row.valid_until is not None and row.valid_until <= now:
            self._marking.drop(tx, row, batch, "too late")
            return False
        if now >= row.leased_until - LEASE / 2 or self._is_held_back(batch):
            self._marking.give_back(tx, row, batch, row.not_before_at)
            return False
        if (until := batch.free_at(row)) is not None:
            self._marking.give_back(tx, row, batch, until)
            return False
        if row.priority > outbox.REPLY and passed:
            # It keeps its place among its own kind.
            self._marking.give_back(tx, row, batch, row.not_before_at)
            pacing.spend(tx, row.channel, self.channel.pace, now, -1)
            return False
        if row.kind in UNASKED:
            until = quiet_until(now, standing.zone, standing.settings)
            if standing.unheard:
                # It may be a STOP, or the very word that was to be asked for.
                until = max(until or now, now + UNHEARD_WAIT)
            if until is not None:
                self._marking.give_back(tx, row, batch, until)
                return False
        return True
