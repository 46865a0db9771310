"""From either store into either: what the past owed is not said, what is to come is."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import select

from bot.records import backup
from bot.records.store import Store, StoreError
from bot.records.tables import fired, inbox, outbox
from tests.contract.stores import opened, sqlite_at
from tests.faults.farm import Farm

NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)
DAY = timedelta(days=1)
LATER = NOW + 3 * DAY


@pytest.fixture
def kept(store: Store, tmp_path: Path) -> Path:
    """A bot with a barrel, words that wait to go out, and a message that waits to be handled."""
    farm = Farm(store)
    farm.settle("0", "UTC", "07:00", NOW)
    farm.says("0", "started 200 l barrel", NOW)
    farm.engine.step(NOW)
    farm.says("0", "leaf spray 3 tanks of 16 litres", NOW)
    farm.exchange.message(NOW)
    farm.says("0", "my barrels", NOW)
    path = tmp_path / "kept.gz"
    backup.write(store, path, NOW)
    return path


@pytest.fixture(params=["sqlite", "postgresql"])
def target(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Store]:
    if request.param == "sqlite":
        folder = tmp_path / "target"
        folder.mkdir()
        found = opened(sqlite_at(folder))
    else:
        fresh: Callable[[], str] = request.getfixturevalue("postgres_server")
        found = opened(fresh())
    yield found
    found.close()


def test_after_a_restore_no_old_word_goes_and_the_next_day_comes(kept: Path, target: Store) -> None:
    backup.read(target, kept, LATER)
    farm = Farm(target)
    farm.engine.step(LATER)
    with target.reading() as tx:
        assert set(tx.execute(select(inbox.c.status)).scalars()) == {"done"}
        left = {row.key: row.status for row in tx.execute(select(outbox))}
        days = tx.execute(select(fired.c.due_on, fired.c.became)).all()
    # The dilution that waited at the backup is not sent; the message that waited is answered.
    assert left == {"in:1": "sent", "in:2": "dropped", "in:3": "sent"}
    assert [each.key for each in farm.net.arrived] == ["in:3"]
    assert {row.became for row in days} <= {"restored", "folded"}
    assert {row.due_on.day for row in days} == {3, 4, 5}
    farm.until(LATER + DAY, LATER)
    stirs = [row for row in farm.reminders() if "Stir" in row.text]
    assert [row.created_at for row in stirs] == [datetime(2026, 3, 6, 7, tzinfo=UTC)]


def test_a_restore_by_a_clock_that_is_behind_the_backup_is_refused(
    kept: Path, target: Store
) -> None:
    with pytest.raises(StoreError, match="set the clock"):
        backup.read(target, kept, NOW - timedelta(hours=1))
    backup.read(target, kept, NOW)


def test_a_restore_that_was_cut_off_half_way_opens_nothing_and_is_done_again(
    kept: Path, target: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    def cut(_tx: object, _now: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(backup, "_quieten", cut)
        with pytest.raises(KeyboardInterrupt):
            backup.read(target, kept, LATER)
    with pytest.raises(StoreError, match="cut off"):
        target.migrate()
    backup.read(target, kept, LATER)
    target.migrate()
    farm = Farm(target)
    farm.engine.step(LATER)
    assert [each.key for each in farm.net.arrived] == ["in:3"]
