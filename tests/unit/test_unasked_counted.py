"""What nobody asked for is counted, and shown by `status`."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from bot.operating import lines
from bot.records.counting import counts
from tests.contract.stores import opened, sqlite_at
from tests.faults.farm import Farm

NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)


def test_status_shows_the_unasked_messages_of_a_day_and_of_a_week(tmp_path: Path) -> None:
    farm = Farm(opened(sqlite_at(tmp_path)))
    farm.settle("asha", "UTC", "07:00", NOW)
    farm.settle("juma", "UTC", "07:00", NOW)
    farm.says("asha", "started 200 l barrel", NOW)
    farm.says("juma", "hello", NOW)
    farm.until(NOW + timedelta(days=3), NOW)
    now = NOW + timedelta(days=3)
    with farm.store.reading() as tx:
        found = counts(tx, now)
    assert (found.unasked_day, found.unasked_week) == ({"routine": 1}, {"routine": 3})
    assert found.unasked_most == 3
    shown = "\n".join(lines(found, now))
    assert "unasked     routine 1 (last day)" in shown
    assert "routine 3 (last week), to one member at most 3" in shown
    farm.store.close()
