"""The channel itself: a listener for Kannel's calls, and a client for its sendsms."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from threading import Event
from typing import ClassVar

from bot.channels.gateway.options import NAME, PREFIX, Options, checked
from bot.channels.gateway.receiving import Receiver
from bot.channels.gateway.sending import Sender
from bot.listener import Listener, Patience
from bot.messages import Became, Outcome, Outgoing, Pace
from bot.ports import Door
from bot.sms import manner

IN_PATH = "/in"
REPORT_PATH = "/report"

AT_ONCE = 16
"""Sends under way together; past this Kannel's answers only come later."""


KANNEL = Patience(connections=600, idle_s=300.0)
"""More than the 512 calls that smsbox makes at once, and longer than it keeps a connection: a call
that is cut off waits for its http-queue-delay."""


class Gateway:
    """The gateway, listening from the moment it is made."""

    name: ClassVar[str] = NAME
    polled: ClassVar[bool] = False

    def __init__(self, options: Options, door: Door, now: Callable[[], datetime]) -> None:
        self.manner = manner(options)
        self.pace = Pace(per_second=options.per_second, at_once=AT_ONCE)
        receiver = Receiver(options, door, now)
        routes = {IN_PATH: receiver.message, REPORT_PATH: receiver.report}
        self._listener = Listener(options.listen, PREFIX + "LISTEN", routes, KANNEL)
        host = options.listen.rpartition(":")[0]
        called = options.called.rstrip("/") or f"http://{host}:{self.port}"
        self._sender = Sender(options, called + REPORT_PATH, now)
        self._closed = Event()

    @property
    def port(self) -> int:
        """The port Kannel calls."""
        return self._listener.port

    def send(self, outgoing: Outgoing) -> Outcome:
        """Hand it to Kannel and wait for its answer; from any thread."""
        if self._closed.is_set():
            return Outcome(Became.LATER, "the channel is closed")
        return self._sender.send(outgoing)

    def close(self) -> None:
        """Take no more calls. What was not answered with 200 comes again."""
        if not self._closed.is_set():
            self._closed.set()
            self._listener.close()
            self._sender.close()


def open_channel(settings: Options, door: Door, now: Callable[[], datetime]) -> Gateway:
    """The gateway, listening.

    Raises:
        SettingsError: one line that names the variable and the mend.
    """
    return Gateway(checked(settings), door, now)
