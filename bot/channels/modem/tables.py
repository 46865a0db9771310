"""The daemon's tables as far as this channel uses them, on both of its databases.

SQLite holds its dates and truths as text, and nothing there can be reflected.
"""

from __future__ import annotations

from datetime import datetime, time
from typing import Any

from sqlalchemy import Boolean, Column, DateTime, Dialect, Integer, MetaData, String, Table, Time
from sqlalchemy.types import TypeDecorator, TypeEngine

NEVER = datetime(2000, 1, 1)  # noqa: DTZ001 - the daemon's columns have no zone
"""A moment before any the daemon compares with, in whatever zone it runs."""

TOUCHED = datetime(2000, 1, 2)  # noqa: DTZ001 - the daemon's columns have no zone
"""As long past, but a sign that the daemon has had the row in its hands."""

METADATA = MetaData()


class Flag(TypeDecorator[bool]):
    """A truth: `false` and `true` as text on SQLite."""

    impl = String
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """The column's real type."""
        return dialect.type_descriptor(Boolean() if dialect.name == "postgresql" else String())

    def process_bind_param(self, value: bool | None, dialect: Dialect) -> Any:
        """The truth as the database holds it."""
        return value if dialect.name == "postgresql" else ("true" if value else "false")

    def process_result_value(self, value: Any, dialect: Dialect) -> bool | None:
        """The truth as Python holds it."""
        del dialect
        return value if isinstance(value, bool) else value == "true"


class Stamp(TypeDecorator[datetime]):
    """A moment without a zone: `2026-03-02 07:00:00` as text on SQLite."""

    impl = String
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """The column's real type."""
        return dialect.type_descriptor(DateTime() if dialect.name == "postgresql" else String())

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> Any:
        """The moment as the database holds it."""
        if value is None or dialect.name == "postgresql":
            return value
        return value.isoformat(" ", "seconds")

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """The moment as Python holds it."""
        del dialect
        return datetime.fromisoformat(value) if isinstance(value, str) else value


class Clock(TypeDecorator[time]):
    """A time of day: text on SQLite."""

    impl = String
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """The column's real type."""
        return dialect.type_descriptor(Time() if dialect.name == "postgresql" else String())

    def process_bind_param(self, value: time | None, dialect: Dialect) -> Any:
        """The time as the database holds it."""
        return value if value is None or dialect.name == "postgresql" else value.isoformat()

    def process_result_value(self, value: Any, dialect: Dialect) -> time | None:
        """The time as Python holds it."""
        del dialect
        return time.fromisoformat(value) if isinstance(value, str) else value


VERSION = Table("gammu", METADATA, Column("Version", Integer, primary_key=True, key="version"))

INBOX = Table(
    "inbox",
    METADATA,
    Column("ID", Integer, primary_key=True, key="id"),
    Column("UpdatedInDB", Stamp, key="updated_at"),
    Column("ReceivingDateTime", Stamp, key="received_at"),
    Column("Text", String, key="text"),
    Column("SenderNumber", String, key="sender"),
    Column("Coding", String, key="coding"),
    Column("UDH", String, key="udh"),
    Column("Class", Integer, key="kind"),
    Column("RecipientID", String, key="phone"),
    Column("Processed", Flag, key="processed"),
)

OUTBOX = Table(
    "outbox",
    METADATA,
    Column("ID", Integer, primary_key=True, key="id"),
    Column("InsertIntoDB", Stamp, key="inserted_at"),
    Column("SendingDateTime", Stamp, key="not_before"),
    Column("SendingTimeOut", Stamp, key="locked_until"),
    Column("SendBefore", Clock, key="send_before"),
    Column("SendAfter", Clock, key="send_after"),
    Column("Text", String, key="text"),
    Column("DestinationNumber", String, key="number"),
    Column("Coding", String, key="coding"),
    Column("UDH", String, key="udh"),
    Column("MultiPart", Flag, key="several"),
    Column("RelativeValidity", Integer, key="validity"),
    Column("SenderID", String, key="phone"),
    Column("CreatorID", String, key="creator"),
    Column("Retries", Integer, key="retries"),
    Column("StatusCode", Integer, key="code"),
)

OUTBOX_PARTS = Table(
    "outbox_multipart",
    METADATA,
    Column("ID", Integer, primary_key=True, autoincrement=False, key="id"),
    Column("SequencePosition", Integer, primary_key=True, key="position"),
    Column("Text", String, key="text"),
    Column("Coding", String, key="coding"),
    Column("UDH", String, key="udh"),
)

SENT = Table(
    "sentitems",
    METADATA,
    Column("ID", Integer, primary_key=True, autoincrement=False, key="id"),
    Column("SequencePosition", Integer, primary_key=True, key="position"),
    Column("InsertIntoDB", Stamp, key="inserted_at"),
    Column("DeliveryDateTime", Stamp, key="delivered_at"),
    Column("CreatorID", String, key="creator"),
    Column("Status", String, key="status"),
    Column("StatusError", Integer, key="error"),
    Column("StatusCode", Integer, key="code"),
)
