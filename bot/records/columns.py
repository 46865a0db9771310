"""Kinds of columns: a moment in UTC, a number that counts itself up, on either database."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import BigInteger, DateTime, Integer, TypeDecorator
from sqlalchemy.engine import Dialect


class Moment(TypeDecorator[datetime]):
    """A moment in UTC: naive ones are refused on the way in, the zone is put back on the way out.

    SQLite stores text without a zone; without this, a moment read back could not be compared.
    """

    impl = DateTime(timezone=True)
    cache_ok = True

    def bind_processor(self, dialect: Dialect) -> Callable[[Any], Any]:
        """The moment as UTC; as text without its zone for SQLite."""
        return _text_of if dialect.name == "sqlite" else _in_utc

    def result_processor(self, dialect: Dialect, coltype: object) -> Callable[[Any], Any]:
        """The moment with its zone."""
        del coltype
        return _moment_of if dialect.name == "sqlite" else _in_utc


def _in_utc(value: datetime | None) -> datetime | None:
    if value is None:
        return None
    if value.tzinfo is None:
        raise ValueError(f"a moment without a zone: {value}")
    return value.astimezone(UTC)


def _text_of(value: datetime | None) -> str | None:
    moment = _in_utc(value)
    return None if moment is None else moment.isoformat(" ", "microseconds")[: -len("+00:00")]


def _moment_of(value: str | None) -> datetime | None:
    return None if value is None else datetime.fromisoformat(value).replace(tzinfo=UTC)


# SQLite counts rows by itself only under the name INTEGER.
Serial = BigInteger().with_variant(Integer(), "sqlite")
