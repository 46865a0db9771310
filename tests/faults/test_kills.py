"""kill -9 over and over while messages come, reminders fall due and words go out."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import msgspec
import pytest

from tests.contract.stores import is_full, opened, sqlite_at
from tests.faults import mutants
from tests.faults.nursery import Plan

ROOT = Path(__file__).parents[2]


def raised(address: str, folder: Path, **changed: Any) -> dict[str, Any]:
    """What the nursery reports."""
    opened(address).close()
    plan = Plan(address, str(folder), **changed)
    path = folder / "plan.json"
    path.write_bytes(msgspec.json.encode(plan))
    told = subprocess.run(
        [sys.executable, "-m", "tests.faults.nursery", str(path)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=plan.longest_s + 3 * plan.kills + 120,
        check=False,
    )
    assert told.returncode == 0, told.stderr
    report: dict[str, Any] = json.loads(told.stdout)
    sys.stdout.write(told.stdout)
    errors = folder / "stderr"
    assert report["deaths"] == 0 or changed.get("mutant"), errors.read_text()[-2000:]
    return report


def clean(report: dict[str, Any]) -> None:
    assert report["faults"] == []
    assert report["repeats"] <= report["may_have_gone_twice"]


FULL: dict[str, Any] = {
    "kills": 200,
    "members": 60,
    "messages": 1200,
    "days": 6,
    "day_s": 10.0,
}


def test_a_killed_bot_loses_nothing_and_owns_up_to_repeats_on_sqlite(tmp_path: Path) -> None:
    clean(raised(sqlite_at(tmp_path), tmp_path, kills=8, day_s=1.5, days=3))


@pytest.mark.slow
def test_two_hundred_kills_on_sqlite(tmp_path: Path) -> None:
    report = raised(sqlite_at(tmp_path), tmp_path, **(FULL if is_full() else {"kills": 20}))
    clean(report)
    # Or the kills met no send, and showed nothing of them.
    assert report["may_have_gone_twice"] or not is_full()


@pytest.mark.slow
def test_two_hundred_kills_of_three_workers_on_postgresql(
    tmp_path: Path, postgres_server: Callable[[], str]
) -> None:
    plan = {**(FULL if is_full() else {"kills": 20}), "workers": 3}
    report = raised(postgres_server(), tmp_path, **plan)
    clean(report)
    assert report["may_have_gone_twice"] or not is_full()


@pytest.mark.slow
@pytest.mark.parametrize("mutant", sorted(mutants.CAUGHT_BY))
def test_the_checker_catches_a_mutant_of_the_engine(
    mutant: str, tmp_path: Path, postgres_server: Callable[[], str]
) -> None:
    report = raised(postgres_server(), tmp_path, mutant=mutant, workers=3, kills=25, longest_s=20.0)
    said = mutants.CAUGHT_BY[mutant]
    assert any(re.search(said, fault) for fault in report["faults"]), report["faults"][:20]


def test_each_mutant_is_caught_somewhere() -> None:
    assert set(mutants.APPLY) == {*mutants.CAUGHT_BY, "no_stop_check"}
