"""The channel itself: a client for the service, and a listener for its calls."""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import datetime
from threading import Event
from typing import ClassVar

from bot.channels.http_sms.options import NAME, PREFIX, Options, checked
from bot.channels.http_sms.receiving import Receiver
from bot.channels.http_sms.sending import Sender
from bot.listener import Listener
from bot.messages import Became, Outcome, Outgoing, Pace
from bot.ports import Door
from bot.sms import manner

AT_ONCE = 8


class HttpSms:
    """A hosted SMS service, called and listened to."""

    name: ClassVar[str] = NAME
    polled: ClassVar[bool] = False

    def __init__(self, options: Options, door: Door, now: Callable[[], datetime]) -> None:
        self.manner = manner(options)
        self.pace = Pace(per_second=options.per_second, at_once=AT_ONCE)
        if options.send_as == "query" or "{" in options.send_url:
            # Then number and text stand in the address, which the library notes at this level.
            logging.getLogger("httpx").setLevel(logging.WARNING)
        self._sender = Sender(options, now)
        self._listener: Listener | None = None
        if options.listen:
            receiver = Receiver(options, door, now)
            routes = {options.in_path: receiver.message, options.report_path: receiver.report}
            self._listener = Listener(options.listen, PREFIX + "LISTEN", routes)
        self._closed = Event()

    @property
    def port(self) -> int:
        """The port the service calls; 0 where it does not."""
        return 0 if self._listener is None else self._listener.port

    def send(self, outgoing: Outgoing) -> Outcome:
        """Hand it to the service and wait for its answer; from any thread."""
        if self._closed.is_set():
            return Outcome(Became.LATER, "the channel is closed")
        return self._sender.send(outgoing)

    def close(self) -> None:
        """Take no more calls. What was not answered with 200 comes again."""
        if not self._closed.is_set():
            self._closed.set()
            if self._listener is not None:
                self._listener.close()
            self._sender.close()


def open_channel(settings: Options, door: Door, now: Callable[[], datetime]) -> HttpSms:
    """The service's channel, listening where that is set.

    Raises:
        SettingsError: one line that names the variable and the mend.
    """
    return HttpSms(checked(settings), door, now)
