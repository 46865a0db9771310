"""What became of a row that a courier held, written: sent, to be tried again, given up, unknown."""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row

from bot.lanes import Sent
from bot.messages import Became, Outcome
from bot.records import addresses, outbox, pacing, people, receipts, rerouting, taking_back, tallies
from bot.records.people import Member

log = logging.getLogger(__name__)

MOST_TRIES = 8
FIRST_WAIT_S = 5.0
LONGEST_WAIT_S = 3600.0
PROVEN_WAIT = timedelta(seconds=90)
"""How long a second try waits for a sign that the channel carries anything at all: in an outage
both tries would be spent on it. Longer than the minute that most of them last. Ours, no source."""
LONGEST_DOUBT = timedelta(minutes=5)
LOOK_AGAIN = timedelta(minutes=1)


@dataclass(slots=True)
class Batch:
    """What one drain claimed: under which token, when, and what it heard meanwhile.

    `blocked_until`: the channel waits. `held`: chats that are to wait, and until when; `moved`:
    their new names. `doubted_since`: the channel answered nothing since then, though it was
    tried; `again_at`: when the next second try may go over it.
    """

    token: str
    now: datetime
    elapsed_s: Callable[[], float]
    blocked_until: datetime = field(init=False)
    held: dict[str, datetime] = field(default_factory=dict)
    moved: dict[str, str] = field(default_factory=dict)
    doubted_since: datetime | None = None
    again_at: datetime | None = None
    _begun_s: float = field(init=False)

    def __post_init__(self) -> None:
        self._begun_s = self.elapsed_s()
        self.blocked_until = self.now

    def moment(self) -> datetime:
        """The moment that it is by now."""
        return self.now + timedelta(seconds=self.elapsed_s() - self._begun_s)

    def free_at(self, row: Row[Any]) -> datetime | None:
        """Until when a row is to wait for its chat or its channel; None where it may go now."""
        if row.address in self.held or row.unknown_at is None or self.doubted_since is None:
            return self.held.get(row.address)
        # Over a channel in doubt one goes a second time, and the next after as long again.
        now = self.moment()
        patience = _patience(self.doubted_since, now)
        until = [now]
        if row.unknown_at <= now:
            until.append(row.unknown_at + PROVEN_WAIT)
        if self.again_at is not None:
            until.append(self.again_at)
        if max(until) > now:
            # Sooner than that: something else may have gone meanwhile.
            return min(max(until), now + patience, now + LOOK_AGAIN)
        self.again_at = now + patience
        return None


@dataclass(frozen=True, slots=True)
class Marking:
    """Writes what became of rows; `again` words "the same message again" for a member."""

    again: Callable[[Member | None], str]

    def drop(self, tx: Connection, row: Row[Any], batch: Batch, cause: str) -> None:
        """It is of no use any more and will not go."""
        outbox.mark(tx, row.id, batch.token, status="dropped", cause=cause)

    def overtaken(self, tx: Connection, row: Row[Any], batch: Batch, now: datetime) -> None:
        """It surely did not go; its days fall due again, in the words of now."""
        self.drop(tx, row, batch, outbox.OVERTAKEN)
        taking_back.rearm(tx, row.id, now)

    def give_back(self, tx: Connection, row: Row[Any], batch: Batch, until: datetime) -> None:
        """It was not begun: it waits as before, as if it had not been claimed."""
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

    def mark(self, tx: Connection, ended: Sequence[Sent], batch: Batch) -> None:
        """What sends came to."""
        went = [
            (row.id, outcome.outside_id or None)
            for row, outcome in ended
            if outcome.became is Became.SENT
        ]
        for outbox_id in outbox.sent(tx, went, batch.token, batch.moment()):
            log.warning("message %s was sent, and was taken for lost meanwhile", outbox_id)
        for row, outcome in ended:
            self._other(tx, row, outcome, batch)
        # A refusal is an answer too: the channel is there.
        answered = went or any(outcome.became is Became.REFUSED for _row, outcome in ended)
        if answered and batch.doubted_since is not None:
            pacing.trust(tx, ended[0][0].channel)
            batch.doubted_since = batch.again_at = None

    def _other(self, tx: Connection, row: Row[Any], outcome: Outcome, batch: Batch) -> None:
        now = batch.moment()
        match outcome.became:
            case Became.REFUSED:
                self._refused(tx, row, outcome, batch, now)
            case Became.LATER:
                self._later(tx, row, outcome, batch, now)
            case Became.UNKNOWN:
                _doubt(tx, row.channel, batch, now)
                self.unknown(tx, row, batch.token, outcome.cause, now)
        if outcome.new_address:
            batch.moved[row.address] = outcome.new_address
            addresses.moved(tx, row.channel, row.address, outcome.new_address)

    def _refused(
        self, tx: Connection, row: Row[Any], outcome: Outcome, batch: Batch, now: datetime
    ) -> None:
        overtaken = outbox.is_overtaken(tx, row.id)
        if not outbox.mark(tx, row.id, batch.token, status="refused", cause=outcome.cause):
            return
        if outcome.dead_address:
            rerouting.lost(tx, row.channel, row.address, now)
        if overtaken:
            taking_back.rearm(tx, row.id, now)
        elif outcome.dead_address and row.kind != "last":
            rerouting.send_over(tx, row.id, row.member_id, now)

    def _later(
        self, tx: Connection, row: Row[Any], outcome: Outcome, batch: Batch, now: datetime
    ) -> None:
        if outcome.retry_after_s is not None:
            wait = timedelta(seconds=outcome.retry_after_s)
        elif outcome.whole_channel:
            wait = _doubt(tx, row.channel, batch, now)
        else:
            wait = timedelta(seconds=backoff_s(row.attempts))
        free_at = now + wait
        attempts = row.attempts
        if outcome.whole_channel:
            pacing.hold(tx, row.channel, pacing.WHOLE, free_at)
            batch.blocked_until = max(batch.blocked_until, free_at)
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
        if outbox.is_overtaken(tx, row.id):
            self.overtaken(tx, row, batch, now)
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

    def unknown(
        self, tx: Connection, row: Row[Any], token: str | None, cause: str, now: datetime
    ) -> None:
        """The written rule for what may have arrived: once more, and never a third time.

        Words that would harm if they were taken twice, as a dose, say that they are the same
        again. A channel that finds our key on the far side makes the second try harmless. Words
        that were overtaken meanwhile are not repeated: their days come again in the words of now.
        """
        if receipts.is_delivered(tx, row.id):
            outbox.mark(tx, row.id, token, status="sent", sent_at=now)
            return
        overtaken = outbox.is_overtaken(tx, row.id)
        if row.unknown_at is not None or overtaken:
            outbox.mark(tx, row.id, token, status="unknown", cause=cause)
            if overtaken:
                taking_back.rearm(tx, row.id, now)
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


def _doubt(tx: Connection, channel: str, batch: Batch, now: datetime) -> timedelta:
    """The channel is in doubt; how long nothing is to go a second time over it."""
    batch.doubted_since = batch.doubted_since or now
    patience = _patience(batch.doubted_since, now)
    batch.again_at = now + patience
    pacing.doubt(tx, channel, batch.doubted_since, batch.again_at)
    return patience


def _patience(since: datetime, now: datetime) -> timedelta:
    """As long as it has lasted, from five seconds to five minutes: each wait is twice the last."""
    return min(max(now - since, timedelta(seconds=FIRST_WAIT_S)), LONGEST_DOUBT)


def backoff_s(attempts: int) -> float:
    """Seconds to wait after so many tries: doubling from 5, never over an hour.

    >>> [backoff_s(n) for n in (1, 2, 3, 20)]
    [5.0, 10.0, 20.0, 3600.0]
    """
    return float(min(FIRST_WAIT_S * 2 ** min(attempts - 1, 20), LONGEST_WAIT_S))
