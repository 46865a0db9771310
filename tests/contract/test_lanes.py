"""Several sends at once over both stores: what one of them comes to holds no other back."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from threading import Barrier, Event, Thread
from time import monotonic, sleep
from typing import Any, ClassVar

import pytest
from sqlalchemy import Row, select
from sqlalchemy.exc import OperationalError

from bot.courier import LEASE, Courier
from bot.marking import PROVEN_WAIT
from bot.messages import Became, Manner, Outcome, Outgoing, Pace
from bot.records import outbox, people, tallies
from bot.records.store import Store
from bot.records.tables import outbox as rows
from tests.contract.rows import letter
from tests.faults.dying import loses_the_answer_of_a_commit

NOW = datetime(2026, 3, 2, 7, tzinfo=UTC)
SECOND = timedelta(seconds=1)
AWAY = Outcome(Became.LATER, "429", retry_after_s=60, whole_channel=True)
PATIENCE_S = 20.0
"""How long a test waits for what surely comes: never measured, only a way out."""


class Line:
    """A channel with several sends at once; `meets` says what each of them comes to."""

    name: ClassVar[str] = "test"
    polled: ClassVar[bool] = False
    manner = Manner()

    def __init__(self, meets: Callable[[Outgoing], Outcome], at_once: int = 10) -> None:
        self.pace = Pace(at_once=at_once)
        self.meets = meets
        self.begun: list[str] = []

    def send(self, outgoing: Outgoing) -> Outcome:
        self.begun.append(outgoing.key)
        return self.meets(outgoing)

    def close(self) -> None:
        return


@pytest.fixture(autouse=True)
def grower(store: Store) -> None:
    with store.begin() as tx:
        people.welcome(tx, member_id="m1", group_id="g1", channel="test", address="7", now=NOW)


def put(store: Store, *keys: str, **more: Any) -> None:
    """A letter of each key; what stands before its dash is the address."""
    letters = [letter(key, address=key.partition("-")[0], **more) for key in keys]
    with store.begin() as tx:
        outbox.put(tx, letters, NOW)


def the_row(store: Store, key: str) -> Row[Any]:
    with store.reading() as tx:
        return tx.execute(select(rows).where(rows.c.key == key)).one()


def counted(store: Store) -> dict[str, int]:
    with store.reading() as tx:
        return tallies.all_of(tx)


def sent(_outgoing: Outgoing) -> Outcome:
    return Outcome(Became.SENT)


@pytest.mark.parametrize("at_once", [1, 4])
def test_a_chat_that_is_to_wait_gets_nothing_more_meanwhile(store: Store, at_once: int) -> None:
    put(store, "7-1", "7-2", "7-3", "8-1", "8-2")

    def meets(outgoing: Outgoing) -> Outcome:
        if outgoing.key == "7-1" and line.begun.count("7-1") == 1:
            return Outcome(Became.LATER, "429", retry_after_s=30)
        return Outcome(Became.SENT)

    line = Line(meets, at_once)
    courier = Courier(store, line)
    courier.drain(NOW)
    assert sorted(line.begun) == ["7-1", "8-1", "8-2"]
    assert [the_row(store, key).attempts for key in ("7-1", "7-2", "7-3")] == [1, 0, 0]
    assert courier.drain(NOW + 29 * SECOND) == 0
    for second in range(30, 40):
        courier.drain(NOW + second * SECOND)
    courier.close()
    assert [key for key in line.begun if key.startswith("7")] == ["7-1", "7-1", "7-2", "7-3"]


@pytest.mark.parametrize("stuck_chat", [0, 5, 9])
def test_one_stuck_chat_among_ten_holds_up_no_other_and_keeps_its_own_order(
    store: Store, stuck_chat: int
) -> None:
    put(store, *[f"{chat}-{number}" for number in range(3) for chat in range(10)])
    others_done = Event()

    def meets(outgoing: Outgoing) -> Outcome:
        if outgoing.key == f"{stuck_chat}-0":
            assert others_done.wait(PATIENCE_S)
        return Outcome(Became.SENT)

    line = Line(meets)
    courier = Courier(store, line)
    draining = Thread(target=courier.drain, args=[NOW])
    draining.start()
    others = [f"{chat}-{number}" for chat in range(10) for number in range(3)]
    others = [key for key in others if not key.startswith(f"{stuck_chat}-")]
    for _ in range(int(PATIENCE_S / 0.02)):
        # Marked, not only sent: a crash at this moment repeats none of them.
        if all(the_row(store, key).status == "sent" for key in others):
            others_done.set()
            break
        draining.join(0.02)
    stuck = [key for key in line.begun if key.startswith(f"{stuck_chat}-")]
    came_through = others_done.is_set()
    others_done.set()
    draining.join()
    courier.close()
    assert came_through
    assert stuck == [f"{stuck_chat}-0"]
    theirs = [key for key in line.begun if key.startswith(f"{stuck_chat}-")]
    assert theirs == [f"{stuck_chat}-{number}" for number in range(3)]


@pytest.mark.parametrize("beside", [0, 2])
def test_what_comes_while_a_chat_is_stuck_goes_at_once_and_its_own_waits_for_it(
    store: Store, beside: int
) -> None:
    put(store, "7-1", *[f"{8 + chat}-1" for chat in range(beside)])
    is_stuck, let_go, gone = Event(), Event(), Event()

    def meets(outgoing: Outgoing) -> Outcome:
        if outgoing.key == "7-1":
            is_stuck.set()
            assert let_go.wait(PATIENCE_S)
        if outgoing.key == "20-1":
            gone.set()
        return Outcome(Became.SENT)

    line = Line(meets, at_once=4)
    courier = Courier(store, line)
    tried: list[int] = []
    draining = Thread(target=lambda: tried.append(courier.drain(NOW)))
    draining.start()
    assert is_stuck.wait(PATIENCE_S)
    put(store, "7-2", "20-1")
    went = gone.wait(PATIENCE_S)
    begun = list(line.begun)
    let_go.set()
    draining.join()
    courier.drain(NOW)
    courier.close()
    assert went
    assert "7-2" not in begun
    assert {the_row(store, key).status for key in ("7-1", "7-2", "20-1")} == {"sent"}
    assert line.begun[-1] == "7-2"
    assert tried == [2 + beside]


@pytest.mark.parametrize("whole_channel", [False, True])
def test_what_was_told_to_wait_goes_beside_a_chat_that_is_stuck(
    store: Store, whole_channel: bool
) -> None:
    put(store, "7-1", "8-1")
    let_go, gone = Event(), Event()

    def meets(outgoing: Outgoing) -> Outcome:
        if outgoing.key == "7-1":
            assert let_go.wait(PATIENCE_S)
        elif line.begun.count("8-1") == 1:
            return Outcome(Became.LATER, "429", retry_after_s=0.3, whole_channel=whole_channel)
        else:
            gone.set()
        return Outcome(Became.SENT)

    line = Line(meets, at_once=4)
    courier = Courier(store, line, elapsed_s=monotonic)
    draining = Thread(target=courier.drain, args=[NOW])
    draining.start()
    went = gone.wait(PATIENCE_S)
    let_go.set()
    draining.join()
    courier.close()
    assert went
    assert line.begun.count("8-1") == 2


def test_what_is_under_way_when_the_channel_is_to_wait_is_marked_and_the_rest_waits(
    store: Store,
) -> None:
    put(store, *[f"{chat}-{number}" for number in range(2) for chat in range(4)])
    together = Barrier(4)

    def meets(outgoing: Outgoing) -> Outcome:
        if outgoing.key.endswith("-0"):
            together.wait(PATIENCE_S)
        return AWAY if outgoing.address == "2" else Outcome(Became.SENT)

    line = Line(meets, at_once=4)
    courier = Courier(store, line)
    courier.drain(NOW)
    begun = list(line.begun)
    line.meets = sent
    assert courier.drain(NOW + 59 * SECOND) == 0
    courier.drain(NOW + 60 * SECOND)
    courier.close()
    for chat in range(4):
        assert the_row(store, f"{chat}-0").unknown_at is None
        assert the_row(store, f"{chat}-0").status == "sent"
        assert the_row(store, f"{chat}-1").status == "sent"
    assert "2-1" not in begun
    # Once it was heard, nothing more was begun; the three beside it went once.
    assert Counter(line.begun) == Counter(
        {**{f"{chat}-{number}": 1 for chat in range(4) for number in range(2)}, "2-0": 2}
    )


@pytest.mark.parametrize("first", ["7-1", "8-1"])
def test_a_shorter_wait_takes_nothing_from_a_longer_one(store: Store, first: str) -> None:
    put(store, "7-1", "8-1")
    second_ended = {"7-1": Event(), "8-1": Event()}
    wait_for = {"7-1": "8-1", "8-1": "7-1"}

    def meets(outgoing: Outgoing) -> Outcome:
        if outgoing.key != first:
            assert second_ended[wait_for[outgoing.key]].wait(PATIENCE_S)
        second_ended[outgoing.key].set()
        # The network's own word for one, no word for how long for the other.
        return AWAY if outgoing.key == "7-1" else Outcome(Became.LATER, "away", whole_channel=True)

    line = Line(meets)
    courier = Courier(store, line)
    courier.drain(NOW)
    assert len(line.begun) == 2
    assert courier.drain(NOW + 59 * SECOND) == 0
    line.meets = sent
    assert courier.drain(NOW + 60 * SECOND) == 2
    courier.close()


def test_a_repeat_is_counted_once_though_its_commit_was_not_heard_of(store: Store) -> None:
    put(store, "7-1", "8-1")
    line = Line(lambda _outgoing: Outcome(Became.UNKNOWN, "read timeout"))
    courier = Courier(store, line)
    with pytest.raises(OperationalError), loses_the_answer_of_a_commit(store, 2):
        courier.drain(NOW)
    line.meets = sent
    for second in range(1, 200):
        courier.drain(NOW + second * SECOND)
    courier.close()
    for key in ("7-1", "8-1"):
        assert the_row(store, key).status == "sent"
        assert line.begun.count(key) == 2
    assert counted(store)["may_have_gone_twice"] == 2


def test_an_answer_that_cannot_be_written_down_stops_no_other_message(store: Store) -> None:
    put(store, "7-1", "8-1", "8-2")
    surrogate = "\ud800"  # no database takes it

    def meets(outgoing: Outgoing) -> Outcome:
        return Outcome(Became.SENT, outside_id=surrogate if outgoing.key == "7-1" else "o")

    line = Line(meets)
    courier = Courier(store, line)
    for minute in range(12):
        # As a ticker does: it is logged, and the next tick comes.
        with suppress(UnicodeEncodeError):
            courier.drain(NOW + minute * timedelta(minutes=1))
    courier.close()
    assert the_row(store, "8-1").status == the_row(store, "8-2").status == "sent"
    assert line.begun.count("8-1") == line.begun.count("8-2") == 1
    # Whether it arrived nobody could write down: it ends by the rule for that, and is owned up to.
    assert line.begun.count("7-1") == 2
    assert the_row(store, "7-1").status == "unknown"
    assert counted(store)["may_have_gone_twice"] == 1


@pytest.mark.parametrize("at_once", [1, 3])
def test_a_courier_that_is_closed_while_it_drains_gives_back_what_it_had_not_begun(
    store: Store, at_once: int
) -> None:
    put(store, *[f"{chat}-{number}" for number in range(2) for chat in range(5)])
    under_way = Event()

    def meets(_outgoing: Outgoing) -> Outcome:
        under_way.set()
        while not courier._closed:
            sleep(0.001)
        return Outcome(Became.SENT)

    line = Line(meets, at_once)
    courier = Courier(store, line)
    draining = Thread(target=courier.drain, args=[NOW])
    draining.start()
    assert under_way.wait(PATIENCE_S)
    courier.close()
    draining.join()
    assert courier.drain(NOW) == 0
    with store.reading() as tx:
        found = tx.execute(select(rows)).all()
    assert len(line.begun) <= at_once
    assert {row.key for row in found if row.status == "sent"} == set(line.begun)
    others = [row for row in found if row.key not in line.begun]
    assert {(row.status, row.attempts, row.unknown_at) for row in others} == {("waiting", 0, None)}


def test_a_second_try_whose_courier_was_paused_past_its_lease_stays_owned_up_to(
    store: Store,
) -> None:
    put(store, "7-1")
    Courier(store, Line(lambda _one: Outcome(Became.UNKNOWN, "read timeout"))).drain(NOW)
    paused_s = [0.0]
    later = NOW + PROVEN_WAIT

    def pausing(_outgoing: Outgoing) -> Outcome:
        paused_s[0] = LEASE.total_seconds() + 1
        Courier(store, Line(sent)).drain(later + timedelta(seconds=paused_s[0]))
        return Outcome(Became.SENT)

    Courier(store, Line(pausing), elapsed_s=lambda: paused_s[0]).drain(later)
    row = the_row(store, "7-1")
    assert (row.status, row.unknown_at) == ("sent", NOW)
