"""Very many pending rows in a few statements, on either database."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import bindparam, text

from bot.records.columns import Moment
from bot.records.store import Store

_NUMBERS = "WITH RECURSIVE n(i) AS (SELECT {first} UNION ALL SELECT i + 1 FROM n WHERE i < {last}) "
_BY_TABLE = {
    "grower_group": (
        "id, settings, created_at",
        "{id}, {none}, :now",
    ),
    "member": (
        "id, group_id, settings, created_at",
        "{id}, {id}, {none}, :now",
    ),
    "membership": (
        "group_id, member_id, role, joined_at",
        "{id}, {id}, 'keeper', :now",
    ),
    "address": (
        "channel, address, member_id",
        "'test', {id}, {id}",
    ),
    "subject": (
        "id, kind, code, group_id, member_id, zone, opened_at",
        "{id}, 'batch', 'B1', {id}, {id}, 'UTC', :now",
    ),
    "rule": (
        (
            "kind, subject_id, key, member_id, zone, first_on, at, every_days, stale, "
            "lapse_hours, due_on, due_at"
        ),
        "'stir', {id}, '', {id}, 'UTC', {day}, '07:00', 1, 'fold', 12, {day}, :due_at",
    ),
    "outbox": (
        (
            "key, channel, address, member_id, kind, about, priority, text, buttons, created_at, "
            "not_before_at, status"
        ),
        (
            "'k' || i, 'test', {id}, {id}, 'reminder', {empty}, i % 3, 'Stir your barrel', "
            "{empty}, :now, :due_at, 'waiting'"
        ),
    ),
    "inbox": (
        "channel, outside_id, address, body, sent_at, received_at, status",
        "'test', 'old' || i, {id}, {none}, :now, :now, 'done'",
    ),
    "entry": (
        "exchange_id, group_id, subject_id, member_id, kind, at, recorded_at, data",
        "i, {id}, {id}, {id}, 'note', :now, :now, {none}",
    ),
    "fired": (
        "rule_id, due_on, outbox_id, became, at",
        "i, {day}, i, 'said', :now",
    ),
}


def fill(
    store: Store, count: int, now: datetime, due_at: datetime, *tables: str, first: int = 1
) -> None:
    """So many rows in each of the tables (all that are known, if none is named)."""
    here = {
        "id": "printf('%016d', i)" if store.is_sqlite else "lpad(CAST(i AS text), 16, '0')",
        "none": "'{}'" if store.is_sqlite else "CAST('{}' AS json)",
        "empty": "'[]'" if store.is_sqlite else "CAST('[]' AS json)",
        "day": f"'{due_at:%Y-%m-%d}'" if store.is_sqlite else f"DATE '{due_at:%Y-%m-%d}'",
    }
    numbers = _NUMBERS.format(first=first, last=first + count - 1)
    with store.begin() as tx:
        for table in tables or _BY_TABLE:
            columns, values = _BY_TABLE[table]
            filled = values.format(**here)
            asked = f"{numbers}INSERT INTO {table} ({columns}) SELECT {filled} FROM n"  # noqa: S608
            given = {"now": now, "due_at": due_at}
            used = [name for name in given if f":{name}" in asked]
            words = text(asked).bindparams(*[bindparam(name, type_=Moment) for name in used])
            tx.execute(words, {name: given[name] for name in used})
    with store.engine.connect() as connection:
        connection.execution_options(isolation_level="AUTOCOMMIT").exec_driver_sql("ANALYZE")
