"""Days, zone moves, wrong clocks, crashes and lost commits in any order: a state machine.

One member keeps one barrel that is stirred every day. Whatever happens, no day of it is called for
twice or before its hour, and once the clock is right again every day is called for.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from sqlalchemy import select
from sqlalchemy.exc import OperationalError

from bot import due_members
from bot.records import rules
from bot.records.store import Store
from bot.records.tables import fired, inbox, outbox
from tests.contract.stores import counted, is_full, sqlite_at
from tests.faults import mutants
from tests.faults.dying import Crash, dies_at, loses_the_answer_of_a_commit
from tests.faults.farm import Farm
from tests.faults.test_interleaved import migrated

NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
ZONES = ["Africa/Nairobi", "Asia/Kolkata", "Pacific/Auckland", "America/Bogota", "Europe/Paris"]


class Days(RuleBasedStateMachine):
    """Each local day once, at its hour, through all that can go wrong around it."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        shutil.copy(migrated(), self.folder.name)
        self.store = Store(sqlite_at(Path(self.folder.name)), counted())
        self.farm = Farm(self.store)
        self.true, self.offset = NOW, timedelta()
        self.zone = "UTC"
        self.seen: dict[int, str] = {}
        self.letters_of: dict[tuple[int, date], set[int]] = {}

    @property
    def now(self) -> datetime:
        """What the clock shows."""
        return self.true + self.offset

    @initialize()
    def a_barrel(self) -> None:
        self.farm.settle("0", self.zone, "07:00", self.now)
        self.farm.says("0", "started 200 l barrel", self.now)
        self.farm.engine.step(self.now)

    def teardown(self) -> None:
        try:
            self.offset = timedelta()
            for _day in range(4):
                self._passes(DAY)
                self.no_day_is_called_for_twice_or_early()
            self._every_day_came()
        finally:
            self.store.close()
            self.folder.cleanup()

    def _every_day_came(self) -> None:
        with self.store.reading() as tx:
            days = tx.execute(select(fired)).all()
            waiting = tx.execute(select(inbox).where(inbox.c.status != "done")).all()
            unsent = tx.execute(select(outbox).where(outbox.c.status.in_(["waiting", "sending"])))
            assert unsent.all() == []
        assert waiting == []
        assert {row.became for row in days} <= {"said", "moot", "folded", "lapsed"}
        today = self.true.astimezone(ZoneInfo(self.zone)).date()
        came = {row.due_on for row in days if row.became in {"said", "moot"}}
        assert {today - DAY, today - 2 * DAY} <= came

    def _again(self, work: Callable[[], object]) -> None:
        """As a supervisor does: what died is started again."""
        try:
            work()
        except Crash:
            numbers = self.farm._numbers
            self.farm = Farm(self.store, self.farm.net)
            self.farm._numbers = numbers
            self._again(work)
        except OperationalError:
            self._again(work)

    def _passes(self, span: timedelta) -> None:
        """Time passes from event to event."""
        here = self.now
        there = here + span

        def live() -> None:
            nonlocal here
            while here < there:
                following = self.farm.engine.step(here) or there
                here = min(max(following, here + timedelta(milliseconds=100)), there)
            self.farm.engine.step(there)

        self._again(live)
        self.true += span

    # --- what may happen ------------------------------------------------------------------------

    @rule(hours=st.sampled_from([1, 5, 24, 74]))
    def time_passes(self, hours: int) -> None:
        self._passes(hours * HOUR)

    @precondition(lambda self: not self.offset)
    @rule(by=st.sampled_from([-3 * DAY, -HOUR, HOUR, 3 * DAY]))
    def the_clock_jumps(self, by: timedelta) -> None:
        self.offset = by
        self._passes(timedelta(minutes=5))

    @precondition(lambda self: bool(self.offset))
    @rule()
    def the_clock_is_set_right(self) -> None:
        self.offset = timedelta()
        self._passes(timedelta(minutes=5))

    @rule(zone=st.sampled_from(ZONES))
    def the_member_moves(self, zone: str) -> None:
        self.zone = zone
        self.farm.says("0", f"my zone is {zone}", self.now)
        self._passes(timedelta(minutes=1))

    @rule()
    def the_member_stirs(self) -> None:
        self.farm.says("0", "stirred", self.now)
        self._passes(timedelta(minutes=1))

    @rule(statements=st.integers(1, 60), hours=st.sampled_from([1, 24]))
    def the_process_dies_at_a_statement(self, statements: int, hours: int) -> None:
        self.farm.says("0", "my barrels", self.now)
        with dies_at(self.store, statements):
            self._passes(hours * HOUR)

    @rule(commits=st.integers(1, 8), hours=st.sampled_from([1, 24]))
    def a_commit_is_done_and_not_heard_of(self, commits: int, hours: int) -> None:
        self.farm.says("0", "my barrels", self.now)
        with loses_the_answer_of_a_commit(self.store, commits):
            self._passes(hours * HOUR)

    # --- what must hold -------------------------------------------------------------------------

    @invariant()
    def no_day_is_called_for_twice_or_early(self) -> None:
        arrived: dict[str, int] = {}
        for each in self.farm.net.arrived:
            arrived[each.key] = arrived.get(each.key, 0) + 1
        with self.store.reading() as tx:
            letters: dict[int, Any] = {row.id: row for row in tx.execute(select(outbox))}
            days = tx.execute(select(fired).where(fired.c.became == "said")).all()
        for row in letters.values():
            assert arrived.get(row.key, 0) <= (1 if row.unknown_at is None else 2)
        for day in days:
            letter = letters[day.outbox_id]
            if letter.id not in self.seen:
                hour = datetime.combine(day.due_on, time(7), ZoneInfo(self.zone))
                assert hour <= letter.created_at
            if letter.key in arrived and letter.unknown_at is None:
                self.letters_of.setdefault((day.rule_id, day.due_on), set()).add(letter.id)
        self.seen.update({day.outbox_id: "" for day in days})
        assert all(len(said) == 1 for said in self.letters_of.values()), self.letters_of


TestDays = Days.TestCase
TestDays.settings = settings(
    max_examples=40 if is_full() else 3,
    stateful_step_count=12,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)


def said_is_forgotten(monkeypatch: pytest.MonkeyPatch) -> None:
    """Another day is looked for without looking at what was said already."""
    monkeypatch.setattr(rules, "_done", lambda _tx, _rule_ids, _since: {})


@pytest.mark.slow
@pytest.mark.parametrize("mutant", ["wrong_clock", "fold_all", "said_is_forgotten"])
def test_the_state_machine_catches_a_mutant_of_the_reminders(
    mutant: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    for room, name in ((rules, "owners_due"), (due_members, "look"), (rules, "take")):
        monkeypatch.setattr(room, name, getattr(room, name))
    if mutant == "said_is_forgotten":
        said_is_forgotten(monkeypatch)
    else:
        mutants.APPLY[mutant]()
    tried = settings(
        max_examples=400,
        stateful_step_count=12,
        deadline=None,
        database=None,
        derandomize=True,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    with pytest.raises((Exception, ExceptionGroup)):
        run_state_machine_as_test(Days, settings=tried)
