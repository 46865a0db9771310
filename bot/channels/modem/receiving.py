"""From the daemon's inbox to ours: kept first, marked after, in order."""

from __future__ import annotations

import hashlib
import logging
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from bot.channels.modem.calls import Call, calls
from bot.channels.modem.daemon import Daemon
from bot.channels.modem.options import NAME, Options
from bot.channels.modem.parcels import Done, Row
from bot.channels.modem.parts import Bundle, Message, assembled, overdue
from bot.messages import Incoming, Receipt
from bot.phones import Kind, kind, normal
from bot.ports import Door

LOG = logging.getLogger(__name__)

AT_A_TIME = 200
"""Parts looked at in one pass."""

USSD = 127
"""The class of an answer of the network itself."""

SAME_CALL = timedelta(seconds=60)
"""A caller rings again within this: the same call."""


class Receiver:
    """Takes in what the daemon received. `take` is one pass; the channel's thread repeats it."""

    def __init__(
        self, options: Options, daemon: Daemon, door: Door, now: Callable[[], datetime]
    ) -> None:
        self._options = options
        self._daemon = daemon
        self._door = door
        self._now = now
        self._since: dict[Bundle, float] = {}
        self._rang: dict[str, datetime] = {}

    def take(self) -> None:
        """Take in all that is there. What raises is not marked, and comes again."""
        self._take_messages()
        if self._options.calls_dir:
            for call in calls(Path(self._options.calls_dir)):
                self._take_call(call)

    def _take_messages(self) -> None:
        messages = assembled(self._daemon.unread(AT_A_TIME))
        lacking = {message.bundle for message in messages if not message.whole}
        tick = time.monotonic()
        self._since = {bundle: self._since.get(bundle, tick) for bundle in lacking}
        late = overdue(messages, self._since, tick, self._options.assemble_s)
        done: list[int] = []
        try:
            for message in messages:
                if message.whole:
                    self._keep(message)
                elif message not in late:
                    continue
                elif not all(self._daemon.processed_twin(row) for row in message.rows):
                    self._keep(message)
                done += message.ids
        finally:
            if done:
                self._daemon.mark(done)

    def _keep(self, message: Message) -> None:
        row = message.first
        number = self._number(row)
        if not number:
            return
        fault = message.fault()
        self._door.accept(
            Incoming(
                channel=NAME,
                outside_id=message.outside_id(),
                address=number,
                text="" if fault else message.text(),
                sent_at=self._sent_at(row.received),
                fault=fault,
                raw=message.raw(),
            )
        )

    def _number(self, row: Row) -> str:
        """Who may be answered, or "" for the network itself, short codes and company names."""
        if row.kind == USSD or kind(row.sender, self._options.country) is not Kind.PHONE:
            LOG.info("message %s of the modem has no phone behind it: set aside", row.id)
            return ""
        return normal(row.sender, self._options.country)

    def _sent_at(self, received: datetime) -> datetime:
        """When it was sent, by the network's stamp; never later than now."""
        now = self._now()
        try:
            if self._daemon.writes_utc:
                sent = received.replace(tzinfo=UTC)
            elif self._options.zone:
                sent = received.replace(tzinfo=ZoneInfo(self._options.zone)).astimezone(UTC)
            else:
                sent = received.astimezone(UTC)
        except (OverflowError, ValueError):
            return now
        return min(sent, now)

    def _take_call(self, call: Call) -> None:
        number = normal(call.number, self._options.country)
        before = self._rang.get(number)
        again = before is not None and call.at - before < SAME_CALL
        if number and not again and kind(number) is Kind.PHONE:
            seed = f"{call.note.name} {call.number} {call.at.isoformat()}"
            self._door.accept(
                Incoming(
                    channel=NAME,
                    outside_id="call-" + hashlib.sha256(seed.encode()).hexdigest()[:27],
                    address=number,
                    text="",
                    sent_at=min(call.at, self._now()),
                    missed_call=True,
                    raw=call.note.name,
                )
            )
        self._rang = {who: at for who, at in self._rang.items() if call.at - at < SAME_CALL}
        self._rang[number] = call.at
        call.note.unlink(missing_ok=True)


class Reporter:
    """Passes on what became of messages sent before, once each."""

    def __init__(self, daemon: Daemon, door: Door) -> None:
        self._daemon = daemon
        self._door = door

    def take(self, waited_for: Callable[[str], bool]) -> None:
        """Pass on all news but of messages a send still waits for, whose news is its answer."""
        for done in self._daemon.news(AT_A_TIME):
            if not waited_for(done.key):
                self._door.receipt(_receipt(done))
                self._daemon.told(done.id, done.key)


def _receipt(done: Done) -> Receipt:
    if done.failed:
        cause = f"the modem did not send it (CMS {done.code})"
    elif done.delivered:
        cause = ""
    else:
        cause = f"not delivered (status {done.error})"
    return Receipt(NAME, done.key, delivered=bool(done.delivered), cause=cause)
