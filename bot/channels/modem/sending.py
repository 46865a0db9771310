"""Into the daemon's outbox, and what became of it."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from threading import Event, Lock

from sqlalchemy.exc import DBAPIError

from bot.channels.modem.air import failed, validity
from bot.channels.modem.daemon import Daemon
from bot.channels.modem.options import Options
from bot.channels.modem.parcels import Done, Parcel
from bot.messages import Became, Outcome, Outgoing
from bot.sms import never_sent
from bot.udh import part_headers
from bot.wording.segments import is_gsm, split

NO_VALIDITY = -1
"""The daemon's own default."""

FIRST_LOOK_S = 0.1
LAST_LOOK_S = 1.0
"""How often a send looks for its answer: soon at first, then at leisure."""

DAEMON_WAIT_S = 60.0

GSM, UCS2 = "Default_No_Compression", "Unicode_No_Compression"


class Sender:
    """Hands messages to the daemon and waits for its word."""

    def __init__(self, options: Options, daemon: Daemon, now: Callable[[], datetime]) -> None:
        self._options = options
        self._daemon = daemon
        self._now = now
        self._closing = Event()
        self._lock = Lock()
        self._under_way: set[str] = set()

    def close(self) -> None:
        """Let sends that wait come to an end."""
        self._closing.set()

    def waits_for(self, key: str) -> bool:
        """Whether a send of this key waits for its answer."""
        with self._lock:
            return key in self._under_way

    def send(self, outgoing: Outgoing) -> Outcome:
        """Try once. A message of this key that is there already is not queued again."""
        if self._closing.is_set():
            return Outcome(Became.LATER, "the channel is closed")
        never = never_sent(outgoing, self._options, self._now())
        if never is not None:
            return never
        with self._waiting(outgoing.key):
            try:
                number = self._place(outgoing)
            except DBAPIError as fault:
                return _away(fault)
            if number is None:
                return Outcome(Became.SENT, outside_id=outgoing.key)
            return self._answer(outgoing, number)

    @contextmanager
    def _waiting(self, key: str) -> Iterator[None]:
        with self._lock:
            self._under_way.add(key)
        try:
            yield
        finally:
            with self._lock:
                self._under_way.discard(key)

    def _place(self, outgoing: Outgoing) -> int | None:
        """The daemon's number for the message, newly queued or there before; None: it is sent."""
        queued = self._daemon.queued(outgoing.key)
        if queued is not None:
            if queued.held:
                self._daemon.release(queued.id)
            return queued.id
        before = self._daemon.done(outgoing.key)
        if before is not None and not before.failed:
            return None
        return self._put(outgoing)

    def _put(self, outgoing: Outgoing) -> int:
        parts = split(outgoing.text)
        headers = part_headers(outgoing.key, len(parts)) if len(parts) > 1 else ("",)
        now = self._now()
        until = outgoing.valid_until
        parcel = Parcel(
            key=outgoing.key,
            number=outgoing.address,
            parts=list(zip(parts, headers, strict=True)),
            coding=GSM if is_gsm(outgoing.text) else UCS2,
            validity=NO_VALIDITY if until is None else validity(until - now),
        )
        return self._daemon.put(parcel, now)

    def _answer(self, outgoing: Outgoing, number: int) -> Outcome:
        """The daemon's word on its message of this number, or the end of patience."""
        end = time.monotonic() + self._patience_s(outgoing)
        pause_s = FIRST_LOOK_S
        while True:
            over = time.monotonic() >= end or self._closing.is_set()
            try:
                # In this order: the daemon writes what became of it, then takes it off the queue.
                if self._daemon.queued(outgoing.key) is None:
                    return self._became(self._daemon.done(outgoing.key), outgoing.key, number)
                if over:
                    return self._give_up(outgoing.key, number)
            except DBAPIError as fault:
                # It is queued and may go out; only the end of patience makes that an answer.
                if over:
                    return Outcome(Became.UNKNOWN, _AWAY.format(type(fault).__name__))
            self._closing.wait(pause_s)
            pause_s = min(LAST_LOOK_S, pause_s * 1.5)

    def _patience_s(self, outgoing: Outgoing) -> float:
        if outgoing.valid_until is None:
            return self._options.wait_s
        return min(self._options.wait_s, (outgoing.valid_until - self._now()).total_seconds())

    def _became(self, done: Done | None, key: str, number: int) -> Outcome:
        if done is None or done.id != number:
            return Outcome(Became.UNKNOWN, "the message is gone from the daemon's queue")
        if done.failed:
            self._daemon.told(done.id, key)
            return failed(done.code)
        return Outcome(Became.SENT, outside_id=key)

    def _give_up(self, key: str, number: int) -> Outcome:
        """Take the message back, so that it does not go out when nobody waits for it any more."""
        if self._daemon.take_back(number):
            if self._closing.is_set():
                return Outcome(Became.LATER, "the channel was closed")
            return Outcome(
                Became.LATER,
                "the modem's daemon does not send: see that it runs and reaches the modem",
                retry_after_s=DAEMON_WAIT_S,
                whole_channel=True,
            )
        self._daemon.hold(number)
        queued = self._daemon.queued(key)
        if queued is None:
            return Outcome(Became.UNKNOWN, "the modem was sending when patience ended")
        if queued.retries > 0:
            return failed(queued.code)
        return Outcome(Became.UNKNOWN, "the modem began to send and did not say how it ended")


_AWAY = "the daemon's database does not answer ({})"


def _away(fault: DBAPIError) -> Outcome:
    """The database failed before the message was surely queued.

    A lock that was not given is sure; a connection lost in a commit is not, but the next try
    looks for the message's key first.
    """
    return Outcome(
        Became.UNKNOWN if fault.connection_invalidated else Became.LATER,
        _AWAY.format(type(fault).__name__),
        retry_after_s=DAEMON_WAIT_S,
        whole_channel=True,
    )
