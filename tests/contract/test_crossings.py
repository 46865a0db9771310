"""What becomes of words while they are on the line, over both stores: told, forgotten, reported."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from threading import Event, Thread
from typing import Any

import pytest
from sqlalchemy import Row, insert, select, update

from bot.courier import LEASE, Courier
from bot.marking import PROVEN_WAIT
from bot.messages import Became, Outcome, Outgoing
from bot.records import forgetting, outbox, pacing, receipts, rerouting, taking_back
from bot.records.store import Store, StoreError
from bot.records.tables import address as address_rows
from bot.records.tables import fired, member, subject
from bot.records.tables import outbox as letters
from bot.records.tables import rule as rules_
from tests.faults.farm import Farm, Net

NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)
MORNING = datetime(2026, 3, 3, 7, tzinfo=UTC)
SECOND = timedelta(seconds=1)
UNKNOWN = Outcome(Became.UNKNOWN, "read timeout")


def worded(store: Store) -> Farm:
    """Somebody whose stir reminder of this morning waits to go out."""
    farm = Farm(store)
    farm.barrels("0", NOW)
    assert farm.exchange.due(MORNING) == 1
    return farm


def reminder(farm: Farm) -> Row[Any]:
    found: Row[Any] = farm.reminders()[0]
    return found


def told(farm: Farm) -> None:
    """It was stirred: the words about it are taken back."""
    with farm.store.begin() as tx:
        taking_back.recall(tx, tx.execute(select(subject.c.id)).scalar_one(), MORNING)


def meanwhile(farm: Farm, happens: Callable[[Farm], None], outcome: Outcome) -> None:
    def meets(_outgoing: Outgoing) -> Outcome:
        farm.net.meets = lambda _outgoing: Outcome(Became.SENT)
        happens(farm)
        return outcome

    farm.net.meets = meets
    farm.courier.drain(MORNING)


def test_overtaken_words_that_are_refused_do_not_go_to_another_address(store: Store) -> None:
    farm = worded(store)
    with store.begin() as tx:
        tx.execute(insert(address_rows).values(channel="sms", address="+1", member_id="m0"))
    meanwhile(farm, told, Outcome(Became.REFUSED, "blocked", dead_address=True))
    assert (reminder(farm).status, reminder(farm).channel) == ("refused", "test")
    with store.reading() as tx:
        assert tx.execute(select(fired)).all() == []
        assert tx.execute(select(rules_.c.due_at).where(rules_.c.kind == "stir")).scalar_one()


@pytest.mark.parametrize(
    "outcome", [UNKNOWN, Outcome(Became.LATER, "busy"), Outcome(Became.SENT)], ids=str
)
def test_what_is_forgotten_on_the_line_stays_forgotten(store: Store, outcome: Outcome) -> None:
    farm = worded(store)

    def forget(farm: Farm) -> None:
        with farm.store.begin() as tx:
            forgetting.forget(tx, "m0")

    meanwhile(farm, forget, outcome)
    for second in range(0, 200, 10):
        farm.courier.drain(MORNING + second * SECOND)
    row = reminder(farm)
    assert (row.status, row.text, row.address) == ("dropped", "", "")
    assert len([each for each in farm.net.arrived if each.kind == "reminder"]) <= 1


@pytest.mark.parametrize("early", [False, True])
def test_what_the_network_says_has_arrived_is_not_sent_again(store: Store, early: bool) -> None:
    farm = worded(store)

    def reported(farm: Farm) -> None:
        with farm.store.begin() as tx:
            receipts.receive(tx, "test", reminder(farm).key, delivered=True, cause="")

    meanwhile(farm, reported if early else lambda _farm: None, UNKNOWN)
    if not early:
        assert reminder(farm).status == "waiting"
        reported(farm)
    farm.courier.drain(MORNING + PROVEN_WAIT)
    assert (reminder(farm).status, reminder(farm).delivered) == ("sent", True)
    assert len([each for each in farm.net.arrived if each.kind == "reminder"]) == 1


def test_a_report_does_not_hide_that_words_were_overtaken(store: Store) -> None:
    farm = worded(store)

    def both(farm: Farm) -> None:
        told(farm)
        with farm.store.begin() as tx:
            receipts.receive(tx, "test", reminder(farm).key, delivered=False, cause="expired")

    meanwhile(farm, both, Outcome(Became.LATER, "busy"))
    assert reminder(farm).status == "dropped"


def test_words_that_change_hands_while_they_are_taken_back_are_taken_back(store: Store) -> None:
    """A courier claims them and has not committed: taking them back waits for it (PostgreSQL)."""
    farm = worded(store)
    claimed, go_on = Event(), Event()

    def claims() -> None:
        with store.begin() as tx:
            assert outbox.claim(tx, "test", "t", MORNING, LEASE, 10)
            claimed.set()
            go_on.wait(1.0)

    other = Thread(target=claims)
    other.start()
    assert claimed.wait(20)
    taking = Thread(target=told, args=[farm])
    taking.start()
    taking.join(0.3)
    go_on.set()
    other.join()
    taking.join()
    assert (reminder(farm).status, reminder(farm).cause) == ("sending", "overtaken")


def test_a_doubt_outlives_housekeeping(store: Store) -> None:
    with store.begin() as tx:
        pacing.doubt(tx, "test", MORNING, MORNING + 5 * SECOND)
        pacing.forget(tx, MORNING + 60 * SECOND)
        found = pacing.allowance(tx, "test", Net().pace, MORNING + 60 * SECOND, 8)
    assert (found.most, found.doubted_since) == (8, MORNING)


def test_words_that_a_dead_phone_carried_for_somebody_come_again_to_a_keepers(
    store: Store,
) -> None:
    farm = Farm(store)
    farm.settle("0", "UTC", "07:00", NOW)
    farm.settle("1", "UTC", "07:00", NOW)
    for text in ("found a group called Hill", "my name is Keeper"):
        farm.says("1", text, NOW)
        farm.engine.step(NOW)
    with store.begin() as tx:
        hill = tx.execute(select(member.c.group_id).where(member.c.id == "m1")).scalar_one()
        tx.execute(update(member).where(member.c.id == "m0").values(group_id=hill))
    farm.says("1", "for Aunt: started 20 l barrel", NOW)
    farm.engine.step(NOW)
    farm.says("1", "yes", NOW)
    farm.engine.step(NOW)
    with store.begin() as tx:
        # It is the other one's phone that carries her words from now on.
        tx.execute(update(member).where(member.c.name == "Aunt").values(via_member_id="m0"))
    assert farm.exchange.due(MORNING) >= 1
    with store.begin() as tx:
        (mine,) = tx.execute(select(letters).where(letters.c.address == "0")).all()
        assert mine.text.startswith("Aunt")
        rerouting.lost(tx, "test", "0", MORNING)
    farm.until(MORNING + timedelta(hours=1), MORNING)
    carried = [row for row in farm.reminders() if row.text.startswith("Aunt")]
    assert [(row.address, row.status) for row in carried] == [("0", "dropped"), ("1", "sent")]


def test_one_message_that_cannot_be_judged_keeps_nobody_else_back(store: Store) -> None:
    farm = Farm(store)
    farm.barrels("01", NOW)
    while farm.exchange.due(MORNING):
        pass
    with store.begin() as tx:
        odd = {"zone": "Nowhere/Else", "settings": {"quiet": ["21:00", "05:00"]}}
        tx.execute(update(member).where(member.c.id == "m0").values(**odd))
    farm.courier.drain(MORNING)
    found = {row.address: row.status for row in farm.reminders()}
    assert found == {"0": "refused", "1": "sent"}


def test_one_whose_days_cannot_be_reckoned_keeps_nobody_else_from_theirs(store: Store) -> None:
    farm = Farm(store)
    farm.barrels("01", NOW)
    with store.begin() as tx:
        tx.execute(update(rules_).where(rules_.c.member_id == "m0").values(zone="Nowhere/Else"))
    farm.until(MORNING + timedelta(hours=1), MORNING)
    assert [row.address for row in farm.reminders()] == ["1"]
    with store.reading() as tx:
        due = tx.execute(select(rules_.c.due_at).where(rules_.c.member_id == "m0")).scalars()
        assert all(each is None or each > MORNING for each in due)


def test_what_a_courier_knows_is_written_by_the_next_one_of_its_channel(store: Store) -> None:
    """The database was away for longer than the channel was held for."""
    farm = worded(store)
    begin = store.begin
    away = [False]

    def meets(_outgoing: Outgoing) -> Outcome:
        away[0] = True
        return Outcome(Became.SENT)

    def broken() -> Any:
        if away[0]:
            raise StoreError("away")
        return begin()

    store.begin = broken  # type: ignore[method-assign]
    farm.net.meets = meets
    with pytest.raises(StoreError):
        farm.courier.drain(MORNING)
    away[0] = False
    farm.net.meets = lambda _outgoing: Outcome(Became.SENT)
    second = Courier(store, farm.net, owed=farm.courier.owed)
    second.drain(MORNING + LEASE + SECOND)
    assert (reminder(farm).status, reminder(farm).unknown_at) == ("sent", None)
    assert len([each for each in farm.net.arrived if each.kind == "reminder"]) == 1
