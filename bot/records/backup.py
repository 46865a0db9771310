"""The whole record in one file, and back: the same file for SQLite and PostgreSQL.

A gzip of JSON lines: the revision first, then table by table its columns and its rows.
"""

from __future__ import annotations

import base64
import gzip
import json
from datetime import UTC, date, datetime
from pathlib import Path
from typing import IO, Any

import sqlalchemy
from sqlalchemy import Connection, MetaData, Table, func, insert, select, update

from bot.records import passing_by, revisions, tallies
from bot.records.store import HALF_RESTORED, Store, StoreError
from bot.records.tables import lease, metadata, outbox

KIND = "stirbell backup"
A_BITE = 1000
_VERSION = "alembic_version"


def write(store: Store, path: Path, now: datetime) -> int:
    """Write everything as of one moment to a new file; how many rows. Runs beside a live bot.

    Raises:
        StoreError: the file is there already, or cannot be written.
    """
    draft = path.with_name(f"{path.name}.part")
    if path.exists():
        raise StoreError(f"{path} is there already: name a new file")
    try:
        with gzip.open(draft, "wt", encoding="utf-8") as out:
            rows = _write(store, out, now)
        draft.rename(path)
    except OSError as fault:
        raise StoreError(f"{path} cannot be written: {fault.strerror or fault}") from fault
    finally:
        draft.unlink(missing_ok=True)
    return rows


def _write(store: Store, out: IO[str], now: datetime) -> int:
    total = 0
    with store.reading() as tx:
        if not store.is_sqlite:
            tx.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        head = {"of": KIND, "revision": _revision(tx), "at": now.isoformat()}
        out.write(json.dumps(head) + "\n")
        for table in _tables(tx):
            out.write(json.dumps({"table": table.name, "columns": list(table.c.keys())}) + "\n")
            for row in tx.execution_options(yield_per=A_BITE).execute(select(table)):
                out.write(json.dumps([_pack(value) for value in row]) + "\n")
                total += 1
        out.write(json.dumps({"end": total}) + "\n")
    return total


def read(store: Store, path: Path, now: datetime) -> int:
    """Fill an empty database from a file and make it the newest; how many rows.

    No old reminder goes again: what fell due until `now` is passed over, what waited to go out is
    not sent. Messages that waited to be handled are handled.

    What was cut off half way, between the rows and their coming to rest, is restored once more:
    until then nothing opens the database (`Store.migrate`).

    Raises:
        StoreError: the file is no backup, is cut short or is newer than the clock, or the database
            is not empty.
    """
    if store.revision() and not store.is_half_restored():
        with store.reading() as tx:
            if tx.execute(select(func.count()).select_from(metadata.tables["member"])).scalar_one():
                raise StoreError(
                    "the database is not empty: restore into a new one "
                    "(set STIRBELL_DATABASE to it)"
                )
    try:
        with gzip.open(path, "rt", encoding="utf-8") as source:
            rows = _read(store, source, now)
    except (OSError, EOFError, ValueError, KeyError, TypeError) as fault:
        reason = getattr(fault, "strerror", None) or "it is no backup of Stirbell, or cut short"
        raise StoreError(f"{path} cannot be restored: {reason}") from fault
    revisions.upgrade(store, "head")
    with store.begin() as tx:
        _quieten(tx, now)
        tx.execute(sqlalchemy.text(f"DROP TABLE {HALF_RESTORED}"))
    return rows


def _read(store: Store, source: IO[str], now: datetime) -> int:
    head = json.loads(next(source, "null"))
    if not isinstance(head, dict) or head.get("of") != KIND:
        raise ValueError
    if now < datetime.fromisoformat(head["at"]):
        # What fell due meanwhile would go once the clock is right.
        raise StoreError(
            f"the clock says {now:%Y-%m-%d %H:%M}, and the backup is of {head['at'][:16]} UTC: "
            "set the clock, then restore"
        )
    if store.revision() not in {"", head["revision"]}:
        revisions.downgrade(store, "base")
    revisions.upgrade(store, head["revision"])
    total, ended = 0, -1
    with store.begin() as tx:
        tables = {table.name: table for table in _tables(tx)}
        for each_table in reversed(list(tables.values())):
            tx.execute(each_table.delete())
        table: Table | None = None
        columns: list[str] = []
        bite: list[dict[str, Any]] = []
        for line in source:
            each = json.loads(line)
            if isinstance(each, list):
                bite.append(dict(zip(columns, map(_unpack, each), strict=True)))
                total += 1
            if table is not None and bite and (len(bite) >= A_BITE or isinstance(each, dict)):
                tx.execute(insert(table), bite)
                bite = []
            if isinstance(each, dict):
                ended = each.get("end", -1)
                if "table" in each:
                    table, columns = tables[each["table"]], each["columns"]
        if ended != total:
            raise ValueError
        if not store.is_sqlite:
            _count_on(tx, list(tables.values()))
        tx.execute(sqlalchemy.text(f"CREATE TABLE IF NOT EXISTS {HALF_RESTORED} (at TEXT)"))
    return total


def _quieten(tx: Connection, now: datetime) -> None:
    """No word of the past goes out."""
    tallies.add(tx, "passed_over_at_restore", passing_by.pass_over(tx, now, "restored"))
    tx.execute(
        update(outbox)
        .where(outbox.c.status.in_(["waiting", "sending"]))
        .values(status="dropped", cause="restored from a backup", token=None, leased_until=None)
    )
    tx.execute(lease.delete())


def _revision(tx: Connection) -> str:
    return str(tx.execute(sqlalchemy.text("SELECT version_num FROM alembic_version")).scalar_one())


def _tables(tx: Connection) -> list[Table]:
    """The tables as they are in the database, whichever revision it is at; parents first."""
    found = MetaData()
    found.reflect(bind=tx)
    return [table for table in found.sorted_tables if table.name not in {_VERSION, HALF_RESTORED}]


def _count_on(tx: Connection, tables: list[Table]) -> None:
    """PostgreSQL's counters go on after the highest number that came in."""
    for table in tables:
        for column in table.primary_key.columns:
            named = tx.execute(
                sqlalchemy.text("SELECT pg_get_serial_sequence(:table, :column)"),
                {"table": table.name, "column": column.name},
            ).scalar()
            if named:
                highest = tx.execute(select(func.max(column))).scalar() or 0
                tx.execute(
                    sqlalchemy.text("SELECT setval(:named, :n, false)"),
                    {"named": named, "n": highest + 1},
                )


def _pack(value: Any) -> Any:
    if isinstance(value, datetime):
        moment = value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)
        return {"$": "moment", "of": moment.isoformat()}
    if isinstance(value, date):
        return {"$": "day", "of": value.isoformat()}
    if isinstance(value, bytes | memoryview):
        return {"$": "bytes", "of": base64.b64encode(value).decode()}
    if isinstance(value, dict | list):
        return {"$": "json", "of": value}
    return value


def _unpack(packed: Any) -> Any:
    if not isinstance(packed, dict):
        return packed
    kinds: dict[str, Any] = {
        "moment": datetime.fromisoformat,
        "day": date.fromisoformat,
        "bytes": base64.b64decode,
        "json": lambda value: value,
    }
    return kinds[packed["$"]](packed["of"])
