"""Every revision comes up to the newest with rows in every table, and goes down again with them."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from bot.records import outbox, revisions
from bot.records.store import MIGRATIONS, Store
from bot.records.tables import metadata
from tests.contract.stores import counted, sqlite_at

NOW = datetime(2026, 3, 2, 7, tzinfo=UTC)
REVISIONS = sorted(path.name.split("_")[0] for path in MIGRATIONS.glob("versions/0*.py"))
GIVEN = {"status": "waiting", "zone": "UTC", "at": "07:00", "hour": "07:00"}


@pytest.fixture(params=["sqlite", "postgresql"])
def empty(request: pytest.FixtureRequest, tmp_path: Path) -> Any:
    """A database without a table."""
    if request.param == "sqlite":
        store = Store(sqlite_at(tmp_path), counted())
    else:
        fresh: Callable[[], str] = request.getfixturevalue("postgres_server")
        store = Store(fresh(), counted())
        with store.begin() as tx:
            tx.exec_driver_sql("DROP SCHEMA public CASCADE")
            tx.exec_driver_sql("CREATE SCHEMA public")
    yield store
    store.close()


def value_for(column: sa.Column[Any]) -> object:
    """Something that says in which column it stands; identities are all alike, so that they fit."""
    kind = column.type
    if column.name in GIVEN and isinstance(kind, sa.String):
        return GIVEN[column.name]
    if isinstance(kind, sa.JSON):
        return {"of": column.name}
    if isinstance(kind, sa.Boolean):
        return False
    if isinstance(kind, sa.Date):
        return date(2026, 3, 2)
    if isinstance(kind, sa.DateTime):
        return NOW if kind.timezone else NOW.replace(tzinfo=None)
    if isinstance(kind, sa.LargeBinary):
        return b"\x89picture"
    if isinstance(kind, sa.Integer):
        return 1
    if column.name == "id" or column.name.endswith("_id"):
        return "x1"
    return column.name[: getattr(kind, "length", None) or 40][:8]


def filled(store: Store) -> dict[str, dict[str, Any]]:
    """One row in every table there is, each column with something in it."""
    there = sa.MetaData()
    rows: dict[str, dict[str, Any]] = {}
    with store.begin() as tx:
        there.reflect(tx)
        for table in there.sorted_tables:
            if table.name != "alembic_version":
                rows[table.name] = {each.name: value_for(each) for each in table.columns}
                tx.execute(table.insert(), rows[table.name])
        if not store.is_sqlite:
            for name in ("outbox", "rule", "inbox", "entry", "question", "address"):
                tx.exec_driver_sql(f"SELECT setval(pg_get_serial_sequence('{name}','id'), 1)")
    return rows


def kept(store: Store, rows: dict[str, dict[str, Any]]) -> None:
    """Each row is there, and each column that is still there holds what it held."""
    there = sa.MetaData()
    with store.reading() as tx:
        there.reflect(tx)
        for name, values in rows.items():
            table = there.tables[name]
            (row,) = tx.execute(table.select()).mappings().all()
            shared = set(values) & set(row)
            assert shared, name
            assert {key: row[key] for key in shared} == {key: values[key] for key in shared}, name


@pytest.mark.parametrize("revision", REVISIONS)
def test_a_database_of_any_revision_comes_up_with_its_rows_and_goes_down_again(
    empty: Store, revision: str
) -> None:
    revisions.upgrade(empty, revision)
    assert empty.revision() == revision
    rows = filled(empty)
    empty.migrate()
    assert empty.is_current()
    kept(empty, rows)
    letter = outbox.Letter("new", "channel", "1", "x1", "words", "reply", outbox.REPLY)
    with empty.begin() as tx:
        outbox.put(tx, [letter], NOW)
        claimed = outbox.claim(tx, "channel", "t", NOW, timedelta(seconds=60), 9)
    assert {row.key for row in claimed} == {"key", "new"}
    with empty.begin() as tx:
        tx.execute(sa.text("DELETE FROM outbox WHERE key = 'new'"))
        tx.execute(sa.text("UPDATE outbox SET status = 'waiting'"))
    revisions.downgrade(empty, revision)
    assert empty.revision() == revision
    with empty.reading() as tx:
        assert tx.execute(sa.text("SELECT text FROM outbox")).scalar_one() == "text"


def test_the_revisions_one_after_the_other_make_the_tables_the_program_knows(empty: Store) -> None:
    for revision in REVISIONS:
        revisions.upgrade(empty, revision)
    with empty.reading() as tx:
        differs = compare_metadata(MigrationContext.configure(tx), metadata)
    assert differs == []


def test_there_is_one_newest_revision_and_each_follows_the_one_before() -> None:
    assert len(set(REVISIONS)) == len(REVISIONS)
    for before, after in itertools.pairwise(REVISIONS):
        (path,) = MIGRATIONS.glob(f"versions/{after}_*.py")
        assert f'down_revision = "{before}"' in path.read_text()
