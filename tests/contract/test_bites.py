"""Many members' due rules in one transaction, over both stores: none lost and none twice."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from threading import Barrier, Event, Thread
from typing import Any, ClassVar

import pytest
from sqlalchemy import select, update
from sqlalchemy.exc import OperationalError

from bot.courier import Courier
from bot.messages import Became, Incoming, Manner, Outcome, Outgoing, Pace
from bot.records import inbox, outbox
from bot.records.store import Store, is_passing
from bot.records.tables import fired, member, membership
from bot.records.tables import inbox as inbox_rows
from bot.reminding import Reminding
from bot.ticker import Ticker
from tests.contract.rows import letter
from tests.faults.farm import Farm, Net

NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)
MORNING = datetime(2026, 3, 3, 7, tzinfo=UTC)
MEMBERS = 12
PATIENCE_S = 30.0
"""How long a test waits for what surely comes: never measured, only a way out."""


def growers(store: Store, group_of: Callable[[int], int]) -> Farm:
    """Members with a barrel each, several of them in one group."""
    farm = Farm(store)
    for who in range(MEMBERS):
        farm.settle(str(who), "UTC", "07:00", NOW)
        with store.begin() as tx:
            group = f"g{group_of(who)}"
            mine = membership.c.member_id == f"m{who}"
            tx.execute(update(membership).where(mine).values(group_id=group))
            tx.execute(update(member).where(member.c.id == f"m{who}").values(group_id=group))
        farm.says(str(who), "started 200 l barrel", NOW)
    farm.engine.step(NOW)
    return farm


def became(store: Store) -> Counter[str]:
    with store.reading() as tx:
        return Counter(tx.execute(select(fired.c.became)).scalars())


def again_and_again(work: Callable[[], object]) -> None:
    """As a ticker does: what the database could not do just then is done at the next tick."""
    while True:
        try:
            if not work():
                return
        except Exception as fault:
            if not is_passing(fault):
                raise


@pytest.mark.parametrize("groups", [1, 3])
def test_workers_at_once_remind_each_member_of_a_group_once(store: Store, groups: int) -> None:
    farm = growers(store, lambda who: who % groups)
    for who in range(0, MEMBERS, 2):
        said = Incoming("test", f"in{who}", str(who), "my barrels", MORNING)
        inbox.keep(store, said, MORNING)
    together = Barrier(5)
    works: list[Callable[[], object]] = [
        *[lambda: farm.exchange.due(MORNING, 4)] * 2,
        *[lambda: farm.exchange.message(MORNING)] * 2,
        lambda: farm.courier.drain(MORNING),
    ]
    faults: list[Exception] = []

    def live(work: Callable[[], object]) -> None:
        together.wait(PATIENCE_S)
        try:
            again_and_again(work)
        except Exception as fault:  # noqa: BLE001 - handed to the test's own thread
            faults.append(fault)

    threads = [Thread(target=live, args=[work]) for work in works]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    farm.engine.step(MORNING)
    farm.engine.step(MORNING + timedelta(minutes=1))
    assert faults == []
    assert Counter(row.member_id for row in farm.reminders()) == {
        f"m{who}": 1 for who in range(MEMBERS)
    }
    assert became(store) == {"said": MEMBERS}
    assert max(Counter(each.key for each in farm.net.arrived).values()) == 1
    with store.reading() as tx:
        assert set(tx.execute(select(inbox_rows.c.status)).scalars()) == {"done"}


def test_one_whose_words_fail_keeps_none_of_the_others_from_theirs(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    farm = growers(store, lambda who: who % 2)
    words = Reminding._words

    def failing(self: Reminding, tx: Any, due: Any, now: datetime) -> Any:
        if due.member.id == "m5":
            raise ValueError
        return words(self, tx, due, now)

    monkeypatch.setattr(Reminding, "_words", failing)
    farm.engine.step(MORNING)
    assert {row.member_id for row in farm.reminders()} == {
        f"m{who}" for who in range(MEMBERS) if who != 5
    }
    assert became(store) == {"said": MEMBERS - 1, "failed": 1}
    monkeypatch.undo()
    farm.engine.step(MORNING + timedelta(days=1))
    assert Counter(row.member_id for row in farm.reminders())["m5"] == 1


def test_a_database_that_goes_away_in_a_bite_passes_nobody_over(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    farm = growers(store, lambda who: who)
    words, left = Reminding._words, [7]

    def failing(self: Reminding, tx: Any, due: Any, now: datetime) -> Any:
        left[0] -= 1
        if left[0] == 0:
            raise OperationalError("SELECT", None, Exception("connection lost"))
        return words(self, tx, due, now)

    monkeypatch.setattr(Reminding, "_words", failing)
    with pytest.raises(OperationalError):
        farm.exchange.due(MORNING)
    assert became(store) == {}
    assert farm.reminders() == []
    farm.engine.step(MORNING)
    assert became(store) == {"said": MEMBERS}
    assert len(farm.reminders()) == MEMBERS


class Stuck:
    """A channel whose network never answers, until it is let go."""

    name: ClassVar[str] = "stuck"
    polled: ClassVar[bool] = False
    pace = Pace(at_once=2)
    manner = Manner()

    def __init__(self) -> None:
        self.held, self.let_go = Event(), Event()

    def send(self, _outgoing: Outgoing) -> Outcome:
        self.held.set()
        self.let_go.wait(2 * PATIENCE_S)
        return Outcome(Became.SENT)

    def close(self) -> None:
        return


def test_a_channel_that_never_answers_holds_up_no_other_and_nothing_that_comes_in(
    store: Store,
) -> None:
    farm = Farm(store, Net())
    farm.settle("0", "UTC", "07:00", NOW)
    with store.begin() as tx:
        outbox.put(
            tx,
            [
                letter(f"s{n}", channel="stuck", address=f"{n % 3}", member_id="m0")
                for n in range(9)
            ],
            NOW,
        )
    stuck = Stuck()
    slow = Courier(store, stuck)
    ticker = Ticker(lambda: 0.0)
    answered = Event()

    def waits() -> None:
        slow.drain(NOW)

    def lives() -> None:
        if stuck.held.is_set():
            farm.engine.step(NOW)
            if farm.net.arrived:
                answered.set()

    farm.says("0", "started 200 l barrel", NOW)
    ticker.every(0.05, "courier:stuck", waits)
    ticker.every(0.05, "courier:test", lives)
    ticker.start()
    came = answered.wait(PATIENCE_S)
    still_stuck = not stuck.let_go.is_set()
    stuck.let_go.set()
    ticker.stop()
    slow.close()
    assert came
    assert still_stuck
