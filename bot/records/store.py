"""The database: opened, kept at the newest revision, and entered by one transaction at a time."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any, cast

import sqlalchemy
from sqlalchemy import Connection, event
from sqlalchemy.exc import (
    ArgumentError,
    DBAPIError,
    InterfaceError,
    NoSuchModuleError,
    OperationalError,
)

from bot.records.turns import Turns

MIGRATIONS = Path(__file__).parent / "migrations"
HALF_RESTORED = "half_restored"
"""A table that is there between the two commits of a restore."""


class StoreError(Exception):
    """The database cannot be used; the message says why and what mends it."""


class Store:
    """One database: SQLite with one writer at a time, or PostgreSQL with a pool.

    `new_id` gives random identities of 16 characters; it is handed in so that tests repeat.
    """

    def __init__(self, address: str, new_id: Callable[[], str]) -> None:
        self.address = address
        self.new_id = new_id
        try:
            self.engine = _open(address)
        except (ArgumentError, NoSuchModuleError, ImportError) as fault:
            raise StoreError(
                f"the database address {address!r} is not understood: "
                "use sqlite:///FILE or postgresql+psycopg://USER@HOST/NAME"
            ) from fault
        self.is_sqlite = self.engine.dialect.name == "sqlite"
        # SQLite has one writer; waiting here in order is fairer than its own busy loop.
        self._writer = Turns() if self.is_sqlite else None

    @contextmanager
    def begin(self) -> Iterator[Connection]:
        """One transaction: committed at the end, rolled back if anything was raised.

        Raises:
            StoreError: the database cannot be reached.
        """
        if self._writer is not None:
            with self._writer, self._connect() as tx:
                yield tx
        else:
            with self._connect() as tx:
                yield tx

    @contextmanager
    def _connect(self) -> Iterator[Connection]:
        try:
            connection = self.engine.connect()
        except DBAPIError as fault:
            raise StoreError(_reason(fault, self.address)) from fault
        with connection, connection.begin():
            yield connection

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """One transaction that only looks: on SQLite it does not wait for the writer.

        Raises:
            StoreError: the database cannot be reached.
        """
        try:
            connection = self.engine.connect().execution_options(reading=True)
        except DBAPIError as fault:
            raise StoreError(_reason(fault, self.address)) from fault
        with connection, connection.begin():
            yield connection

    def now(self, otherwise: Callable[[], datetime]) -> datetime:
        """The database's moment where several machines share one; else `otherwise`."""
        if self.is_sqlite:
            return otherwise()
        with self.reading() as tx:
            found = tx.execute(sqlalchemy.text("SELECT clock_timestamp()")).scalar_one()
        return cast("datetime", found)

    def migrate(self) -> None:
        """Bring the tables to the newest revision.

        Raises:
            StoreError: the database is newer than this program, or cannot be reached, or a restore
                into it was cut off.
        """
        if self.is_half_restored():
            raise StoreError("a restore into this database was cut off: stirbell restore once more")
        newest = _newest()
        found = self.revision()
        if found == newest:
            return
        if found > newest:
            raise StoreError(
                f"the database is at revision {found}, this program knows up to {newest}: "
                "install the newer program"
            )
        # Imported here: opening an up-to-date database is the usual case and should be quick.
        from bot.records import revisions  # noqa: PLC0415

        revisions.upgrade(self, "head")

    def is_current(self) -> bool:
        """Whether the tables are at this program's revision."""
        return self.revision() == _newest()

    def is_half_restored(self) -> bool:
        """Whether a restore was cut off before what fell due meanwhile was passed over."""
        with self._connect() as tx:
            return sqlalchemy.inspect(tx).has_table(HALF_RESTORED)

    @property
    def shown(self) -> str:
        """The address without its password."""
        return sqlalchemy.make_url(self.address).render_as_string(hide_password=True)

    def revision(self) -> str:
        """The revision the tables are at; empty for a new database."""
        with self._connect() as tx:
            if not sqlalchemy.inspect(tx).has_table("alembic_version"):
                return ""
            return str(
                tx.execute(sqlalchemy.text("SELECT version_num FROM alembic_version")).scalar()
                or ""
            )

    def close(self) -> None:
        """Give the connections back."""
        self.engine.dispose()


def is_passing(fault: BaseException) -> bool:
    """Whether a fault is the database's own, as a full disk, a lost connection or a deadlock.

    What was tried then is not to blame: it is tried again.
    """
    if isinstance(fault, StoreError):
        return True
    if not isinstance(fault, DBAPIError):
        return False
    return fault.connection_invalidated or isinstance(fault, OperationalError | InterfaceError)


def _open(address: str) -> sqlalchemy.Engine:
    url = sqlalchemy.make_url(address)
    if url.get_backend_name() != "sqlite":
        return sqlalchemy.create_engine(url, pool_size=8, max_overflow=8, pool_pre_ping=True)
    in_memory = url.database in (None, "", ":memory:")
    # A connection is rolled back as it comes home, as by default: after a commit that failed (a
    # full disk) it is still inside its transaction, and could begin no other.
    kwargs: dict[str, Any] = {"connect_args": {"check_same_thread": False, "timeout": 30}}
    if in_memory:
        kwargs["poolclass"] = sqlalchemy.StaticPool
    engine = sqlalchemy.create_engine(url, **kwargs)

    @event.listens_for(engine, "connect")
    def _prepare(connection: Any, _record: Any) -> None:
        # SQLAlchemy 2 with sqlite3: we begin ourselves, IMMEDIATE, so that two writers queue up
        # instead of failing half way.
        connection.isolation_level = None
        cursor = connection.cursor()
        cursor.execute("PRAGMA journal_mode=WAL")
        # FULL costs 0.2 ms a commit and keeps acknowledged messages over a power cut.
        cursor.execute("PRAGMA synchronous=FULL")
        cursor.execute("PRAGMA foreign_keys=ON")
        cursor.close()

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        looks = connection.get_execution_options().get("reading", False)
        connection.exec_driver_sql("BEGIN" if looks else "BEGIN IMMEDIATE")

    return engine


def _newest() -> str:
    return max(path.name.split("_")[0] for path in MIGRATIONS.glob("versions/*.py"))


def _reason(fault: DBAPIError, address: str) -> str:
    shown = sqlalchemy.make_url(address).render_as_string(hide_password=True)
    first = (
        str(fault.orig).strip().splitlines()[0] if str(fault.orig).strip() else "no reason given"
    )
    return f"the database {shown} cannot be opened: {first}"
