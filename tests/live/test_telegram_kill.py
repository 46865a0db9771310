from __future__ import annotations

import random
import subprocess
import sys
from pathlib import Path

import pytest

from tests.contract.seam import until
from tests.live.peers.sqlite_door import SqliteDoor
from tests.live.peers.telegram_double import Double

ROOT = Path(__file__).parents[2]


def killed_over_and_over(
    double: Double, door: SqliteDoor, *, kills: int, messages: int, chance: random.Random
) -> list[tuple[object, ...]]:
    """Every row, after a child was killed so often while hearing so many messages."""
    child = [sys.executable, "-m", "tests.live.peers.telegram_child", double.api, str(door.path)]
    poison_at = messages // 2
    for number in range(messages):
        if number == poison_at:
            double.push({"message": {"chat": {"id": 7}, "text": "poison"}})
        double.says(f"used {number} l")
    for round_ in range(kills + 1):
        process = subprocess.Popen(child, cwd=ROOT)
        try:
            if round_ < kills:
                goal = (messages * (round_ + 1)) // (kills + 1) + chance.randrange(3)
                assert until(lambda: len(door.texts()) >= goal, within_s=20)  # noqa: B023 - at once
            else:
                assert until(lambda: double.waiting() == 0, within_s=20)
        finally:
            process.kill()
            process.wait()
    return door.rows("select outside_id, text, fault != '' from inbox order by id")


def check(rows: list[tuple[object, ...]], messages: int) -> None:
    expected = [f"used {number} l" for number in range(messages)]
    assert [text for _, text, fault in rows if not fault] == expected
    assert [text for _, text, fault in rows if fault] == [""]
    assert len({outside_id for outside_id, _, _ in rows}) == messages + 1


def test_killed_twice_with_a_poison_update_it_loses_and_doubles_nothing(
    double: Double, door: SqliteDoor
) -> None:
    rows = killed_over_and_over(double, door, kills=2, messages=80, chance=random.Random(1))
    check(rows, 80)


@pytest.mark.slow
def test_killed_twenty_times_it_loses_and_doubles_nothing(double: Double, door: SqliteDoor) -> None:
    rows = killed_over_and_over(double, door, kills=20, messages=1000, chance=random.Random(2))
    check(rows, 1000)
