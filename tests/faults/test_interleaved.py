"""Couriers, crashes, pauses, lost commits and clock jumps in any order: a state machine."""

from __future__ import annotations

import functools
import shutil
import tempfile
from collections import Counter
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

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
from sqlalchemy import select, update
from sqlalchemy.exc import OperationalError

from bot.courier import LEASE, Courier
from bot.marking import Marking
from bot.messages import Became, Outcome, Outgoing, Pace
from bot.records import outbox, people
from bot.records.store import Store
from bot.records.tables import member
from bot.records.tables import outbox as rows
from tests.contract.stores import counted, is_full, opened, sqlite_at
from tests.faults import mutants
from tests.faults.dying import Crash, loses_the_answer_of_a_commit
from tests.faults.farm import Net

NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)


@functools.cache
def migrated() -> Path:
    """An empty database, made once."""
    folder = Path(tempfile.mkdtemp(prefix="stirbell-"))
    opened(sqlite_at(folder)).close()
    return folder / "stirbell.sqlite"


class Deliveries(RuleBasedStateMachine):
    """Nothing is lost, nothing arrives three times, each repeat is owned up to, a stop holds."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        shutil.copy(migrated(), self.folder.name)
        self.store = Store(sqlite_at(Path(self.folder.name)), counted())
        self.now = NOW
        self.latest = NOW
        self.numbers = 0
        self.arrived: Counter[str] = Counter()
        self.stopped = False
        self.after_stop: list[str] = []

    @initialize()
    def somebody(self) -> None:
        with self.store.begin() as tx:
            people.welcome(
                tx, member_id="m1", group_id="g1", channel="test", address="7", now=self.now
            )

    def teardown(self) -> None:
        try:
            self._comes_to_an_end()
        finally:
            self.store.close()
            self.folder.cleanup()

    def _comes_to_an_end(self) -> None:
        """Nothing waits for ever, and what is said to be sent was."""
        self.now = max(self.now, self.latest)
        for _ in range(60):
            self.now += timedelta(minutes=5)
            Courier(self.store, self._net(Outcome(Became.SENT))).drain(self.now)
        self.nothing_is_lost_and_repeats_are_owned_up_to()
        with self.store.reading() as tx:
            ended = {row.key: row for row in tx.execute(select(rows))}
        assert {row.status for row in ended.values()} <= {"sent", "refused", "unknown", "dropped"}
        for row in ended.values():
            assert row.status != "refused" or row.cause.startswith("given up")
            assert row.status != "dropped" or self.stopped
            assert row.status != "unknown" or row.unknown_at is not None

    def _net(self, outcome: Outcome, crash: str = "") -> Net:
        def meets(outgoing: Outgoing) -> Outcome:
            if crash == "before":
                raise Crash
            if outcome.became in {Became.SENT, Became.UNKNOWN}:
                self.arrived[outgoing.key] += 1
                if self.stopped:
                    self.after_stop.append(outgoing.key)
            if crash == "after":
                raise Crash
            return outcome

        return Net(meets)

    @rule(address=st.sampled_from(["7", "8"]))
    def a_letter_is_written(self, address: str) -> None:
        self.numbers += 1
        key = f"k{self.numbers}"
        letter = outbox.Letter(key, "test", address, "m1", "words", "reply", outbox.REPLY)
        with self.store.begin() as tx:
            outbox.put(tx, [letter], self.now)

    @rule(
        outcome=st.sampled_from(
            [
                Outcome(Became.SENT),
                Outcome(Became.UNKNOWN, "timeout"),
                Outcome(Became.LATER, "busy"),
                Outcome(Became.LATER, "429", retry_after_s=3, whole_channel=True),
            ]
        ),
        at_once=st.sampled_from([1, 4]),
    )
    def a_courier_drains(self, outcome: Outcome, at_once: int) -> None:
        net = self._net(outcome)
        net.pace = Pace(at_once=at_once)
        courier = Courier(self.store, net)
        courier.drain(self.now)
        courier.close()

    @rule(
        outcome=st.sampled_from([Outcome(Became.SENT), Outcome(Became.UNKNOWN, "timeout")]),
        number=st.integers(1, 4),
        lives=st.booleans(),
    )
    def a_commit_is_done_and_not_heard_of(self, outcome: Outcome, number: int, lives: bool) -> None:
        courier = Courier(self.store, self._net(outcome))
        with suppress(OperationalError), loses_the_answer_of_a_commit(self.store, number):
            courier.drain(self.now)
        if lives:
            courier.drain(self.now)

    @rule(hours=st.sampled_from([-72, -1, 1, 72]))
    def the_clock_jumps(self, hours: int) -> None:
        self.latest = max(self.latest, self.now)
        self.now += timedelta(hours=hours)

    @rule(when=st.sampled_from(["before", "after"]))
    def a_courier_dies(self, when: str) -> None:
        try:
            Courier(self.store, self._net(Outcome(Became.SENT), when)).drain(self.now)
        except Crash:
            return

    @rule()
    def a_courier_is_paused_past_its_lease(self) -> None:
        net, seconds = self._net(Outcome(Became.SENT)), [0.0]
        meets = net.meets

        def pausing(outgoing: Outgoing) -> Outcome:
            outcome = meets(outgoing)
            if not seconds[0]:
                seconds[0] = LEASE.total_seconds() + 1
                other = self._net(Outcome(Became.SENT))
                Courier(self.store, other).drain(self.now + timedelta(seconds=seconds[0]))
            return outcome

        net.meets = pausing
        Courier(self.store, net, elapsed_s=lambda: seconds[0]).drain(self.now)
        self.now += timedelta(seconds=seconds[0])

    @rule(seconds=st.sampled_from([1, 10, 300, 7200]))
    def time_passes(self, seconds: int) -> None:
        self.now += timedelta(seconds=seconds)

    @precondition(lambda self: not self.stopped)
    @rule()
    def the_member_stops(self) -> None:
        self.stopped = True
        with self.store.begin() as tx:
            tx.execute(update(member).values(stopped_at=self.now))

    @invariant()
    def nothing_is_lost_and_repeats_are_owned_up_to(self) -> None:
        with self.store.reading() as tx:
            known: dict[str, Any] = {row.key: row for row in tx.execute(select(rows))}
        assert len(known) == self.numbers
        for key, row in known.items():
            count = self.arrived[key]
            assert count <= 2
            assert count < 2 or row.unknown_at is not None
            assert row.status != "sent" or count
            assert row.status != "waiting" or not count or row.unknown_at is not None
        assert self.after_stop == []


TestDeliveries = Deliveries.TestCase
TestDeliveries.settings = settings(
    max_examples=200 if is_full() else 15,
    stateful_step_count=20,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)


@pytest.mark.slow
@pytest.mark.parametrize("mutant", ["no_stop_check", "lease_ignored", "lost_retry"])
def test_the_state_machine_catches_a_mutant_of_the_courier(
    mutant: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    for room, name in (
        (Courier, "_may_go"),
        (Marking, "unknown"),
        (Courier, "_send"),
        (outbox, "claim"),
        (outbox, "mark"),
    ):
        monkeypatch.setattr(room, name, getattr(room, name))
    mutants.APPLY[mutant]()
    tried = settings(
        max_examples=300,
        stateful_step_count=20,
        deadline=None,
        database=None,
        derandomize=True,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    with pytest.raises((AssertionError, ExceptionGroup)):
        run_state_machine_as_test(Deliveries, settings=tried)
