"""The running bot: every configured channel, the ticker, and a clean end."""

from __future__ import annotations

import logging
import sys
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from functools import partial

import msgspec

from bot.assembly import House, assemble, configured
from bot.clock import SharedClock, elapsed_s
from bot.messages import Manner
from bot.metrics import listen
from bot.records import housekeeping, leases
from bot.records.store import is_passing
from bot.settings import Settings, SettingsError
from bot.ticker import Ticker

log = logging.getLogger(__name__)

TICK_S = 1.0
LEASE = timedelta(seconds=30)
LEASE_TICK_S = 10.0
HOUSEKEEPING_S = 3600.0
GRACE_S = 5.0
"""How long the end waits for what is under way and for what can go at once."""

SWITCH_S = 0.001
"""How long a thread that words reminders may keep one waiting that could send the first of them.

Python's own is five times as long, and between a reminder and its send lie three threads."""

_MANNER = "manner"


@dataclass(slots=True)
class Serving:
    """One copy of the running bot."""

    house: House
    settings: Settings
    names: tuple[str, ...]
    clock: SharedClock
    ticker: Ticker
    holder: str
    told: Callable[[str], None]
    stopping: threading.Event = field(default_factory=threading.Event)
    _deadline_s: float = field(default=float("inf"))
    _renewed_s: dict[str, float] = field(default_factory=dict)

    # --- channels -----------------------------------------------------------------------------

    def hold_channels(self) -> None:
        """Open what this copy may hold, keep its leases, and close what it lost.

        Raises:
            SettingsError: a channel's setting is wrong.
        """
        if not self.house.store.is_sqlite:
            self.clock.look(self.house.store.now(self.clock.now))
        for name in self.names:
            self._hold(name)
        self._remember_manners()

    def _hold(self, name: str) -> None:
        lease = f"channel:{name}"
        open_now = self.house.channels.get(name)
        if open_now is not None and not open_now.polled:
            return
        if leases.hold(self.house.store, lease, self.holder, self.clock.now(), LEASE):
            self._renewed_s[name] = elapsed_s()
            if open_now is None:
                self._open(name)
        elif open_now is not None:
            self._lose(name)

    def let_go_of_lapsed(self) -> None:
        """Close what could not be renewed in time: another copy may hold it by now."""
        for name, renewed_s in list(self._renewed_s.items()):
            lapsed = elapsed_s() - renewed_s > LEASE.total_seconds()
            if lapsed and name in self.house.channels:
                self._lose(name)

    def _open(self, name: str) -> None:
        channel = self.house.open(name)
        courier = self.house.engine.couriers[name]
        courier.elapsed_s = elapsed_s
        courier.ending = self.ending
        self.house.door.keep(name, _MANNER, msgspec.json.encode(channel.manner).decode())
        if not channel.polled:
            # Any copy may listen behind one address: the next one opens it too.
            del self._renewed_s[name]
            leases.give_back(self.house.store, f"channel:{name}", self.holder)
        self.ticker.every(TICK_S, f"courier:{name}", partial(self._drain, name))
        self.told(f"channel {name} is open")

    def _lose(self, name: str) -> None:
        self._renewed_s.pop(name, None)
        self.ticker.no_more(f"courier:{name}")
        self.house.shut(name)
        self.told(f"channel {name} is held by another copy now")

    def _remember_manners(self) -> None:
        """How channels that other copies hold carry words."""
        for name, value in self.house.door.of_all(_MANNER).items():
            self.house.manners[name] = msgspec.json.decode(value, type=Manner)

    # --- work ---------------------------------------------------------------------------------

    def exchange(self, name: str = "") -> None:
        """Handle what came in and what is due, and let the couriers know at each step.

        What falls due before the next tick has one of its own: `name` is this piece of work.
        """
        self.house.engine.take(self.clock.now, self.ending, self._wake_couriers)
        next_at = self.house.engine.next_due(self.clock.now())
        if name and next_at is not None:
            self.ticker.within(name, (next_at - self.clock.now()).total_seconds())

    def _wake_couriers(self) -> None:
        """Let the couriers know; one that was at rest goes to the writer before the next words."""
        woken = [self.ticker.wake(f"courier:{name}") for name in list(self.house.channels)]
        if any(woken):
            time.sleep(SWITCH_S)

    def _wake(self, names: Sequence[str]) -> None:
        for name in names:
            self.ticker.wake(name)

    def _drain(self, name: str) -> None:
        courier = self.house.engine.couriers.get(name)
        while courier is not None and not self.ending() and courier.drain(self.clock.now()):
            pass

    def tidy(self) -> None:
        """Housekeeping, by one copy an hour."""
        length = timedelta(seconds=HOUSEKEEPING_S * 0.9)
        now = self.clock.now()
        if leases.hold(
            self.house.store, "housekeeping", f"{self.holder}-{now:%d%H%M}", now, length
        ):
            gone = housekeeping.tidy(self.house.store, now, self.settings.keep_days, self.ending)
            log.info("housekeeping: %s", gone)

    def ending(self) -> bool:
        """Whether what is not begun is to be left for the next start."""
        return elapsed_s() > self._deadline_s

    # --- from start to end --------------------------------------------------------------------

    def run(self) -> None:
        """Serve until told to stop; then let what is under way come to its end."""
        sys.setswitchinterval(SWITCH_S)
        try:
            self.hold_channels()
            waiting = [name for name in self.names if name not in self.house.channels]
            for name in waiting:
                self.told(f"channel {name} is held by another copy: waiting for it")
            self._tick()
        finally:
            self._end()

    def _tick(self) -> None:
        workers = 1 if self.house.store.is_sqlite else self.settings.workers
        names = [f"exchange:{number}" for number in range(workers)]
        self.house.door.waken.append(partial(self._wake, names))
        for name in names:
            self.ticker.every(TICK_S, name, partial(self.exchange, name))
        self.ticker.every(LEASE_TICK_S, "leases", self.hold_channels)
        self.ticker.every(HOUSEKEEPING_S, "housekeeping", self.tidy)
        self.ticker.start()
        self.told("serving")
        while not self.stopping.wait(1.0):
            self.ticker.look_at_the_clock()
            self.let_go_of_lapsed()
        self.told("ending")

    def _end(self) -> None:
        self._deadline_s = elapsed_s() + GRACE_S
        # A send that waits for a dead network is cut off with its channel.
        cut = threading.Timer(GRACE_S + 1, self._close_channels)
        cut.daemon = True
        cut.start()
        self.ticker.stop()
        try:
            self._finish()
        except Exception as fault:
            if not is_passing(fault):
                raise
            self.told(f"the database is away: what was accepted is kept ({type(fault).__name__})")
        finally:
            cut.cancel()
            self.house.close()

    def _finish(self) -> None:
        if not self.ending():
            self.exchange()
            for name in list(self.house.channels):
                self._drain(name)
        for name in list(self.house.channels):
            self.house.shut(name)
        for name in self.names:
            leases.give_back(self.house.store, f"channel:{name}", self.holder)

    def _close_channels(self) -> None:
        for channel in list(self.house.channels.values()):
            channel.close()


def serve(
    settings: Settings,
    address: str,
    environ: Mapping[str, str],
    told: Callable[[str], None],
    arm: Callable[[Callable[[], None]], None],
) -> None:
    """Serve every configured channel until stopped; `arm` is handed what stops it.

    Raises:
        SettingsError: no channel is configured, or a setting is wrong.
        StoreError: the database cannot be used.
    """
    names = configured(environ)
    if not names:
        raise SettingsError(
            "no channel is configured: set STIRBELL_TELEGRAM_TOKEN or STIRBELL_MODEM_DATABASE "
            "(or try the bot here with: stirbell chat)"
        )
    clock = SharedClock()
    house = assemble(address, now=clock.now, environ=environ, names=())
    endpoint = None
    try:
        if settings.metrics_port:
            endpoint = listen(settings.metrics_port, house.store, clock.now)
        holder = house.store.new_id()
        serving = Serving(house, settings, names, clock, Ticker(elapsed_s), holder, told)
        arm(serving.stopping.set)
        serving.run()
    finally:
        if endpoint is not None:
            endpoint.shutdown()
            endpoint.server_close()
