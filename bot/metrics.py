"""The operator's counters for Prometheus, read from the database when they are asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime
from wsgiref.simple_server import WSGIServer

from prometheus_client import CollectorRegistry, start_http_server
from prometheus_client.metrics_core import GaugeMetricFamily, Metric
from prometheus_client.registry import Collector

from bot.records.counting import Counts, counts
from bot.records.store import Store
from bot.settings import SettingsError

HERE = "127.0.0.1"


class Counters(Collector):
    """One look at the database for each question."""

    def __init__(self, store: Store, now: Callable[[], datetime]) -> None:
        self._store = store
        self._now = now

    def describe(self) -> Iterator[Metric]:
        """Nothing beforehand: the database need not be there when the bot starts."""
        return iter(())

    def collect(self) -> Iterator[Metric]:
        """Every counter of this moment."""
        now = self._now()
        with self._store.reading() as tx:
            found = counts(tx, now)
        yield from families(found, now)


def families(found: Counts, now: datetime) -> Iterator[Metric]:
    """The counters under their names."""

    def age_s(moment: datetime | None) -> float:
        return 0.0 if moment is None else max(0.0, (now - moment).total_seconds())

    plain = {
        "inbox_waiting": ("messages not yet handled", found.inbox_waiting),
        "inbox_set_aside": ("messages set aside with their cause", found.inbox_set_aside),
        "inbox_oldest_s": ("age of the oldest waiting message", age_s(found.inbox_oldest_at)),
        "rules_open": ("reminders planned", found.rules_open),
        "rules_due": ("reminders due and not yet worded", found.rules_due),
        "rules_oldest_due_s": ("age of the oldest due one", age_s(found.rules_oldest_due_at)),
        "outbox_oldest_s": ("age of the oldest waiting word", age_s(found.outbox_oldest_at)),
        "outbox_unknown_day": ("sends of a day whose fate became unknown", found.unknown_day),
        "addresses_dead": ("addresses nobody can be reached at", found.addresses_dead),
        "members": ("members", found.members),
        "members_stopped": ("members who said stop", found.members_stopped),
        "clock_behind": (
            "1 while reminders are held because the clock is behind",
            float(found.clock_behind_since is not None),
        ),
    }
    for name, (about, value) in plain.items():
        yield GaugeMetricFamily(f"stirbell_{name}", about, value=value)
    labelled = {
        "outbox_waiting": ("words waiting to go out", "channel", found.outbox_waiting),
        "outbox_day": ("what became of the words of a day", "status", found.outbox_day),
        "unasked_day": ("messages of a day nobody asked for", "ceiling", found.unasked_day),
        "due_days": ("what became of the due days of a day", "became", found.days_day),
        "tally": ("since ever", "what", found.tallies),
    }
    for name, (about, label, values) in labelled.items():
        family = GaugeMetricFamily(f"stirbell_{name}", about, labels=[label])
        for key, value in values.items():
            family.add_metric([key], value)
        yield family


def listen(port: int, store: Store, now: Callable[[], datetime]) -> WSGIServer:
    """The endpoint, open on this machine only.

    Raises:
        SettingsError: the port cannot be listened on.
    """
    registry = CollectorRegistry()
    registry.register(Counters(store, now))
    try:
        server, _thread = start_http_server(port, addr=HERE, registry=registry)
    except OSError as fault:
        raise SettingsError(
            f"STIRBELL_METRICS_PORT: port {port} cannot be listened on: {fault.strerror}"
        ) from fault
    return server
