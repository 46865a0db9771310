"""Written whether it was there or not, in one statement: two workers at once never collide."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, Table
from sqlalchemy.dialects import postgresql, sqlite


def upsert(
    tx: Connection,
    table: Table,
    key: Mapping[str, Any],
    new: Mapping[str, Any],
    change: Mapping[str, Any] | None = None,
) -> None:
    """Write a row under its primary key: `new`, or `change` (else `new` too) where it was there."""
    insert = sqlite.insert if tx.dialect.name == "sqlite" else postgresql.insert
    statement = insert(table).values(**key, **new)
    tx.execute(statement.on_conflict_do_update(index_elements=list(key), set_=dict(change or new)))
