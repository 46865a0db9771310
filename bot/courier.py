"""Drains the outbox of one channel: marks before and after each try, paces, retries, gives up."""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row

from bot.lanes import Lanes, Sent
from bot.messages import Became, Outcome
from bot.ports import Channel
from bot.quiet import quiet_until
from bot.records import outbox, pacing, people, reaching, rules, tallies
from bot.records.people import Member
from bot.records.store import Store, is_passing

log = logging.getLogger(__name__)

LEASE = timedelta(seconds=240)
"""Longer than twice what the slowest channel waits for an answer (a modem, 90 s)."""
MOST = 64
"""Rows claimed together. What cannot be begun in half a lease is given back."""
MOST_TRIES = 8
FIRST_WAIT_S = 5.0
LONGEST_WAIT_S = 3600.0
UNASKED = frozenset({"reminder", "notice"})
UNHEARD_WAIT = timedelta(seconds=1)


def _plain(_member: Member | None) -> str:
    return ""


def _no_time() -> float:
    return 0.0


def _going_on() -> bool:
    return False


@dataclass(slots=True)
class Batch:
    """What one drain claimed: under which token, when, and what it heard meanwhile.

    `blocked`: the channel went away. `held`: chats that are to wait, and until when; `moved`:
    their new names.
    """

    token: str
    now: datetime
    begun_s: float
    blocked: bool = False
    held: dict[str, datetime] = field(default_factory=dict)
    moved: dict[str, str] = field(default_factory=dict)


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
    _closed: bool = False
    _pool: ThreadPoolExecutor | None = field(default=None, repr=False)
    _owed: list[tuple[Row[Any], Outcome | None, Batch]] = field(default_factory=list, repr=False)

    def drain(self, now: datetime, most: int = MOST) -> int:
        """Send what may go now; how many were tried. What was left by a lost courier goes first."""
        batch = Batch(self.store.new_id(), now, self.elapsed_s())
        name, pace = self.channel.name, self.channel.pace
        self._write_owed()
        if self._closed:
            return 0
        with self.store.begin() as tx:
            for row in outbox.orphaned(tx, name, now):
                self._unknown(tx, row, None, "courier lost", now)
            free = pacing.allowance(tx, name, pace, now, most)
            rows: Sequence[Row[Any]] = ()
            if free:
                rows = outbox.claim(tx, name, batch.token, now, LEASE, free)
                rows = pacing.spread(tx, rows, pace, now)
                pacing.spend(tx, name, pace, now, len(rows))
            lanes = self._lanes(rows)
            looked = lanes.heads()
            going = self._going(tx, looked, batch)
        self._deliver(lanes, looked, going, batch)
        return len(rows)

    def _lanes(self, rows: Sequence[Row[Any]]) -> Lanes:
        at_once = self.channel.pace.at_once
        alone = at_once <= 1 or len(rows) <= 1
        return Lanes(rows, self._send, at_once, None if alone else self._threads(at_once))

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
    ) -> None:
        """Send what was claimed; what became of each is written before the next to its address.

        What other lanes' sends came to is written in the same commit: under a burst that is most
        of the price of a send, and no more of them are unwritten at a crash than are under way.
        """
        ended: list[Sent] = []
        try:
            while lanes:
                ended = lanes.send(looked, going)
                for _row, outcome in ended:
                    if outcome.whole_channel and outcome.became is Became.LATER:
                        batch.blocked = True
                with self.store.begin() as tx:
                    self._mark(tx, ended, batch)
                    looked = lanes.heads()
                    going = self._going(tx, looked, batch)
                ended = []
        except Exception as fault:
            # The database went away. What is known is not forgotten with it, or words that surely
            # arrived would go once more.
            self._owed.extend((*each, batch) for each in [*ended, *lanes.landed()])
            self._owed.extend((row, None, batch) for row in lanes.left())
            if is_passing(fault):
                raise
            # It is there: what one message met is no reason to keep the others waiting.
            self._write_owed()
            if not (self._closed and isinstance(fault, RuntimeError)):
                raise  # else only its threads were let go meanwhile
        finally:
            lanes.let_go()

    def _write_owed(self) -> None:
        """What became of rows while the database was away; what was not begun is given back."""
        while self._owed:
            row, outcome, batch = self._owed[0]
            try:
                with self.store.begin() as tx:
                    if outcome is not None:
                        self._mark(tx, [(row, outcome)], batch)
                    elif self._is_overtaken(tx, row, batch.token, self._moment(batch)):
                        self._overtaken(tx, row, batch, self._moment(batch))
                    else:
                        self._give_back(tx, row, batch, row.not_before_at)
            except Exception as fault:
                if is_passing(fault):
                    raise
                # Its lease ends, and the rule for what may have arrived holds.
                log.exception("what became of message %s cannot be written", row.id)
            del self._owed[0]

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
        now = self._moment(batch)
        ids = [row.id for row in rows]
        found = outbox.standings(tx, self.channel.name, ids, batch.token, now)
        return [
            row for row in rows if row.id in found and self._may_go(tx, row, found[row.id], batch)
        ]

    def _may_go(
        self, tx: Connection, row: Row[Any], standing: outbox.Standing, batch: Batch
    ) -> bool:
        now = self._moment(batch)
        if not standing.mine:
            return False
        if standing.overtaken:
            self._overtaken(tx, row, batch, now)
            return False
        if row.kind != "last" and (standing.stopped or not standing.known):
            self._drop(tx, row, batch, "stopped")
            return False
        if row.valid_until is not None and row.valid_until <= now:
            self._drop(tx, row, batch, "too late")
            return False
        late = now - batch.now >= LEASE / 2
        if late or batch.blocked or self._closed or self.ending():
            self._give_back(tx, row, batch, row.not_before_at)
            return False
        if row.address in batch.held:
            self._give_back(tx, row, batch, batch.held[row.address])
            return False
        if standing.passed:
            # It keeps its place among its own kind.
            self._give_back(tx, row, batch, row.not_before_at)
            pacing.spend(tx, row.channel, self.channel.pace, now, -1)
            return False
        if row.kind in UNASKED:
            until = quiet_until(now, standing.zone, standing.settings)
            if standing.unheard:
                # It may be a STOP, or the very word that was to be asked for.
                until = max(until or now, now + UNHEARD_WAIT)
            if until is not None:
                self._give_back(tx, row, batch, until)
                return False
        return True

    def _moment(self, batch: Batch) -> datetime:
        return batch.now + timedelta(seconds=self.elapsed_s() - batch.begun_s)

    def _drop(self, tx: Connection, row: Row[Any], batch: Batch, cause: str) -> None:
        outbox.mark(tx, row.id, batch.token, status="dropped", cause=cause)

    def _overtaken(self, tx: Connection, row: Row[Any], batch: Batch, now: datetime) -> None:
        """It surely did not go; its days fall due again, in the words of now."""
        self._drop(tx, row, batch, outbox.OVERTAKEN)
        rules.rearm(tx, row.id, now)

    def _is_overtaken(self, tx: Connection, row: Row[Any], token: str, now: datetime) -> bool:
        found = outbox.standings(tx, row.channel, [row.id], token, now).get(row.id)
        return found is not None and found.overtaken

    def _give_back(self, tx: Connection, row: Row[Any], batch: Batch, until: datetime) -> None:
        outbox.mark(
            tx,
            row.id,
            batch.token,
            status="waiting",
            not_before_at=until,
            attempts=row.attempts - 1,
            address=batch.moved.get(row.address, row.address),
            cause=row.cause,
        )

    def _mark(self, tx: Connection, ended: Sequence[Sent], batch: Batch) -> None:
        went = [
            (row.id, outcome.outside_id or None)
            for row, outcome in ended
            if outcome.became is Became.SENT
        ]
        for outbox_id in outbox.sent(tx, went, batch.token, self._moment(batch)):
            log.warning("message %s was sent, and was taken for lost meanwhile", outbox_id)
        for row, outcome in ended:
            self._mark_other(tx, row, outcome, batch)

    def _mark_other(self, tx: Connection, row: Row[Any], outcome: Outcome, batch: Batch) -> None:
        now = self._moment(batch)
        match outcome.became:
            case Became.REFUSED:
                outbox.mark(tx, row.id, batch.token, status="refused", cause=outcome.cause)
                if outcome.dead_address:
                    people.died(tx, row.channel, row.address, now)
                    _elsewhere(tx, row, now)
            case Became.LATER:
                self._later(tx, row, outcome, batch, now)
            case Became.UNKNOWN:
                self._unknown(tx, row, batch.token, outcome.cause, now)
        if outcome.new_address:
            batch.moved[row.address] = outcome.new_address
            people.moved(tx, row.channel, row.address, outcome.new_address)

    def _later(
        self, tx: Connection, row: Row[Any], outcome: Outcome, batch: Batch, now: datetime
    ) -> None:
        wait = backoff_s(row.attempts) if outcome.retry_after_s is None else outcome.retry_after_s
        free_at = now + timedelta(seconds=wait)
        attempts = row.attempts
        if outcome.whole_channel:
            pacing.hold(tx, row.channel, pacing.WHOLE, free_at)
            # The channel's own trouble is no fault of this message: it waits for as long as it is
            # of use.
            attempts -= 1
        elif attempts >= MOST_TRIES:
            cause = f"given up after {attempts} tries: {outcome.cause}"
            outbox.mark(tx, row.id, batch.token, status="refused", cause=cause)
            return
        elif outcome.retry_after_s is not None:
            pacing.hold(tx, row.channel, row.address, free_at)
            batch.held[row.address] = free_at
        if self._is_overtaken(tx, row, batch.token, now):
            self._overtaken(tx, row, batch, now)
            return
        outbox.mark(
            tx,
            row.id,
            batch.token,
            status="waiting",
            not_before_at=free_at,
            attempts=attempts,
            address=outcome.new_address or row.address,
            cause=outcome.cause,
        )

    def _unknown(
        self, tx: Connection, row: Row[Any], token: str | None, cause: str, now: datetime
    ) -> None:
        """The written rule for what may have arrived: once more, and never a third time.

        Words that would harm if they were taken twice, as a dose, say that they are the same
        again. A channel that finds our key on the far side makes the second try harmless. Words
        that were overtaken meanwhile are not repeated: their days come again in the words of now.
        """
        overtaken = self._is_overtaken(tx, row, token or row.token, now)
        if row.unknown_at is not None or overtaken:
            outbox.mark(tx, row.id, token, status="unknown", cause=cause)
            if overtaken:
                rules.rearm(tx, row.id, now)
            return
        text = row.text
        if row.repeat == "said":
            words = self.again(people.by_id(tx, row.member_id))
            text = f"{words}\n{text}" if words else text
        if outbox.mark(
            tx,
            row.id,
            token,
            status="waiting",
            not_before_at=now + timedelta(seconds=FIRST_WAIT_S),
            unknown_at=now,
            text=text,
            cause=f"unknown: {cause}",
        ):
            tallies.add(tx, "may_have_gone_twice")


def _elsewhere(tx: Connection, row: Row[Any], now: datetime) -> None:
    """What waits for a dead address goes to the member's other one, this message too."""
    other = reaching.reach(tx, row.member_id)
    there = (other.channel, other.address) if other else None
    outbox.readdress(tx, row.channel, row.address, there)
    if there is not None and row.kind != "last":
        outbox.send_over(tx, row.id, there, now)


def backoff_s(attempts: int) -> float:
    """Seconds to wait after so many tries: doubling from 5, never over an hour.

    >>> [backoff_s(n) for n in (1, 2, 3, 20)]
    [5.0, 10.0, 20.0, 3600.0]
    """
    return float(min(FIRST_WAIT_S * 2 ** min(attempts - 1, 20), LONGEST_WAIT_S))
