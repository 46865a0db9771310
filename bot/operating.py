"""What an operator types: serve, status, verify, migrate, backup, restore, read."""

from __future__ import annotations

import argparse
import importlib
import logging
import signal
import sys
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from bot.assembly import PREFIX, configured, random_id, recipes
from bot.clock import system_now
from bot.language import jsonl
from bot.language.understand import compile_all, tongues
from bot.records import backup, timekeeping
from bot.records.counting import Counts, counts
from bot.records.store import Store, StoreError
from bot.serving import serve
from bot.settings import Settings, SettingsError, environment, read
from bot.wording.catalogue import ENGLISH, CatalogueError
from bot.wording.faults import faults

DATABASE = "sqlite:///stirbell.sqlite"
LEVELS = ("debug", "info", "warning", "error")


def register(commands: Any) -> None:
    """Add the operator's subcommands; each sets `run`, which takes the arguments."""
    every = (
        ("serve", "run every channel that has settings in the environment", _serve),
        ("status", "what waits, what went, and what needs a hand", _status),
        ("verify", "check settings, database, channels and languages", _verify),
        ("migrate", "bring the database to this program's revision", _migrate),
        ("backup", "write everything to one new file, beside a running bot", _backup),
        ("restore", "fill an empty database from a backup", _restore),
    )
    for name, about, run in every:
        parser = commands.add_parser(name, help=about)
        parser.add_argument("--database", default="", help="an SQLAlchemy address")
        parser.set_defaults(run=run)
        if name in {"backup", "restore"}:
            parser.add_argument("file", type=Path)
        if name == "status":
            parser.add_argument(
                "--accept-clock",
                action="store_true",
                help="the clock is right now: do not hold reminders any longer",
            )
    heard = commands.add_parser("read", help="JSON Lines in, what is read in them out")
    heard.set_defaults(run=lambda _args: jsonl.main(sys.stdin, sys.stdout))


def settings_of(args: argparse.Namespace) -> tuple[Settings, str]:
    """The program's settings, and the database's address."""
    settings = read(Settings, PREFIX, environment())
    if settings.log not in LEVELS:
        raise SettingsError(f"STIRBELL_LOG: use one of {', '.join(LEVELS)}")
    return settings, args.database or settings.database or DATABASE


def _say(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def _store(args: argparse.Namespace) -> Store:
    """The database, which must be there and of this program's revision."""
    _settings, address = settings_of(args)
    store = Store(address, random_id)
    if not store.is_current():
        raise StoreError(f"the database {store.shown} is not at this revision: stirbell migrate")
    return store


# --- serve ------------------------------------------------------------------------------------


def _serve(args: argparse.Namespace) -> int:
    settings, address = settings_of(args)
    logging.basicConfig(
        level=settings.log.upper(), format="%(asctime)s %(levelname)s %(name)s %(message)s"
    )
    serve(settings, address, environment(), _say, _arm)
    return 0


def _arm(stop: Callable[[], None]) -> None:
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda _number, _frame: stop())


# --- status -----------------------------------------------------------------------------------


def _status(args: argparse.Namespace) -> int:
    store = _store(args)
    now = store.now(system_now)
    if args.accept_clock:
        with store.begin() as tx:
            timekeeping.accept(tx, now, timekeeping.look(tx).behind_since or now)
    with store.reading() as tx:
        found = counts(tx, now)
    _say("\n".join(lines(found, now)))
    store.close()
    return 0


def lines(found: Counts, now: datetime) -> Iterator[str]:
    """The counters as an operator reads them; what needs a hand comes first."""
    if found.clock_behind_since is not None and found.clock_newest_at is not None:
        yield (
            f"! the clock is behind: it says {now:%Y-%m-%d %H:%M}, the record knows "
            f"{found.clock_newest_at:%Y-%m-%d %H:%M} UTC. Reminders are held for an hour; set the "
            "clock, or if it is right: stirbell status --accept-clock"
        )
    if found.inbox_set_aside:
        yield f"! {found.inbox_set_aside} messages were set aside (their cause is in table inbox)"
    if lost := found.outbox_day.get("unknown"):
        yield (
            f"! {lost} messages of the last day may never have arrived: their channel answered "
            "neither yes nor no, twice (status unknown in table outbox); look into its log"
        )
    yield f"members     {found.members}, of them stopped {found.members_stopped}"
    yield f"inbox       waiting {found.inbox_waiting}{_since(found.inbox_oldest_at, now)}"
    yield (
        f"reminders   planned {found.rules_open}, due {found.rules_due}"
        f"{_since(found.rules_oldest_due_at, now)}{_next(found.next_due_at)}"
    )
    waiting = sum(found.outbox_waiting.values())
    by_channel = _by(found.outbox_waiting)
    yield f"outbox      waiting {waiting}{_since(found.outbox_oldest_at, now)}{by_channel}"
    yield f"last day    {_named(found.outbox_day) or 'nothing sent'}"
    yield f"            may have gone twice {found.unknown_day}"
    yield f"unasked     {_named(found.unasked_day) or 'none'} (last day)"
    yield (
        f"            {_named(found.unasked_week) or 'none'} (last week), to one member at most "
        f"{found.unasked_most}"
    )
    yield f"due days    {_named(found.days_day) or 'none'} (last day)"
    yield f"since ever  {_named(found.tallies) or 'nothing of note'}"
    yield f"addresses   dead {found.addresses_dead}"
    for name, (holder, until) in found.leases.items():
        yield f"held        {name} by {holder} until {until:%H:%M:%S} UTC"


def _since(moment: datetime | None, now: datetime) -> str:
    if moment is None:
        return ""
    return f", the oldest for {timedelta(seconds=int((now - moment).total_seconds()))}"


def _next(moment: datetime | None) -> str:
    return f", next {moment:%Y-%m-%d %H:%M} UTC" if moment else ""


def _named(counted: dict[str, int]) -> str:
    return ", ".join(f"{name.replace('_', ' ')} {n}" for name, n in sorted(counted.items()))


def _by(counted: dict[str, int]) -> str:
    return f" ({_named(counted)})" if counted else ""


# --- verify -----------------------------------------------------------------------------------


def _verify(args: argparse.Namespace) -> int:
    found = list(_faults(args))
    _say("\n".join(found) if found else "all is well")
    return 1 if found else 0


def _faults(args: argparse.Namespace) -> Iterator[str]:
    """What an operator must mend, one line each."""
    try:
        _store(args).close()
    except (SettingsError, StoreError) as fault:
        yield str(fault)
    names = configured(environment())
    if not names:
        yield "no channel is configured: set STIRBELL_TELEGRAM_TOKEN or STIRBELL_MODEM_DATABASE"
    for name in names:
        module = importlib.import_module(f"bot.channels.{name}")
        options = getattr(module, "checked", lambda settings: settings)
        try:
            options(read(module.SETTINGS, f"{PREFIX}{name.upper()}_", environment()))
        except SettingsError as fault:
            yield str(fault)
    try:
        yield from faults(complete=(ENGLISH,), unused=False)
        compile_all(tongues())
        recipes(environment())
    except (CatalogueError, SettingsError, ValueError) as fault:
        yield str(fault)


# --- the database -----------------------------------------------------------------------------


def _migrate(args: argparse.Namespace) -> int:
    _settings, address = settings_of(args)
    store = Store(address, random_id)
    store.migrate()
    _say(f"the database is at revision {store.revision()}")
    store.close()
    return 0


def _backup(args: argparse.Namespace) -> int:
    store = _store(args)
    rows = backup.write(store, args.file, store.now(system_now))
    store.close()
    _say(f"{rows} rows written to {args.file}")
    return 0


def _restore(args: argparse.Namespace) -> int:
    _settings, address = settings_of(args)
    if not args.file.is_file():
        raise StoreError(f"{args.file} is not there: name the backup's file")
    store = Store(address, random_id)
    rows = backup.read(store, args.file, store.now(system_now))
    store.close()
    _say(f"{rows} rows restored from {args.file}; no reminder of the past goes again")
    return 0
