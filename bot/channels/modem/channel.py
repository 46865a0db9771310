"""The channel itself: one thread that looks into the daemon's tables, plain calls to send."""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import datetime, timedelta
from threading import Event, Thread
from typing import ClassVar

from sqlalchemy.exc import OperationalError, SQLAlchemyError

from bot.channels.modem.daemon import Daemon
from bot.channels.modem.options import NAME, PREFIX, Options, checked
from bot.channels.modem.receiving import Receiver, Reporter
from bot.channels.modem.sending import Sender
from bot.messages import Outcome, Outgoing, Pace
from bot.ports import Door
from bot.settings import SettingsError
from bot.sms import manner

LOG = logging.getLogger(__name__)

AT_ONCE = 8
"""Messages waiting in the daemon's queue together; the modem itself sends one after the other."""

LONGEST_PAUSE_S = 30.0
"""After faults one upon another."""

CLEAN_EVERY = timedelta(hours=6)

TABLES_VERSION = 17
"""Of gammu-smsd 1.42."""


class Modem:
    """The modem, listening from the moment it is made."""

    name: ClassVar[str] = NAME
    polled: ClassVar[bool] = True

    def __init__(
        self, options: Options, daemon: Daemon, door: Door, now: Callable[[], datetime]
    ) -> None:
        self.manner = manner(options)
        self.pace = Pace(at_once=AT_ONCE)
        self._options = options
        self._daemon = daemon
        self._now = now
        self._receiver = Receiver(options, daemon, door, now)
        self._reporter = Reporter(daemon, door)
        self._sender = Sender(options, daemon, now)
        self._stop = Event()
        self._cleaned_at: datetime | None = None
        self._thread = Thread(target=self._look, name="modem", daemon=True)
        self._thread.start()

    def send(self, outgoing: Outgoing) -> Outcome:
        """Hand it to the daemon and wait for its word; from any thread."""
        return self._sender.send(outgoing)

    def close(self) -> None:
        """Stop looking. What was not marked comes again."""
        self._stop.set()
        self._sender.close()
        self._thread.join()
        self._daemon.close()

    def _look(self) -> None:
        pause_s = self._options.poll_s
        while not self._stop.wait(pause_s):
            try:
                self._receiver.take()
                self._reporter.take(self._sender.waits_for)
                self._clean()
            except Exception as fault:  # noqa: BLE001 - whatever failed, the daemon keeps its rows
                pause_s = min(LONGEST_PAUSE_S, pause_s * 2)
                LOG.warning(
                    "the modem's messages could not be taken in (%s); again in %.0f s",
                    type(fault).__name__,
                    pause_s,
                )
            else:
                pause_s = self._options.poll_s

    def _clean(self) -> None:
        now = self._now()
        if self._cleaned_at is None or now - self._cleaned_at >= CLEAN_EVERY:
            self._daemon.forget(now - timedelta(days=self._options.keep_days))
            self._cleaned_at = now


def open_channel(settings: Options, door: Door, now: Callable[[], datetime]) -> Modem:
    """The modem, listening.

    It opens while the database is away, and goes on trying; only what an operator must mend
    stops it.

    Raises:
        SettingsError: one line that names the variable and the mend.
    """
    options = checked(settings)
    daemon = Daemon(options.database, options.phone)
    _check_tables(daemon)
    return Modem(options, daemon, door, now)


def _check_tables(daemon: Daemon) -> None:
    try:
        version = daemon.version()
    except OperationalError as fault:
        if "no such table" not in str(fault.orig):
            LOG.warning("the modem's database does not answer yet (%s)", type(fault).__name__)
            return
        version = 0
    except SQLAlchemyError:
        version = 0
    if version != TABLES_VERSION:
        daemon.close()
        found = f"has tables of version {version}" if version else "has no tables of the daemon"
        raise SettingsError(
            f"{PREFIX}DATABASE {found}: load the file for version {TABLES_VERSION} from "
            "/usr/share/doc/gammu-smsd/examples"
        )
