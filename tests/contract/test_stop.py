"""Nothing is sent to a number that said STOP, whenever the word comes, over both stores."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from threading import Event, Thread
from time import sleep

import pytest
from sqlalchemy import select

from bot.messages import Became, Incoming, Outcome, Outgoing
from bot.records import inbox, outbox, standing
from bot.records.store import Store
from bot.records.tables import outbox as rows
from tests.faults.farm import Farm, Net

NOW = datetime(2026, 3, 2, 7, tzinfo=UTC)
SECOND, MINUTE = timedelta(seconds=1), timedelta(minutes=1)


@pytest.fixture
def farm(store: Store) -> Farm:
    farm = Farm(store, Net())
    farm.settle("asha", "UTC", "07:00", NOW)
    return farm


def put(farm: Farm, key: str, kind: str = "reminder", priority: int = outbox.REMINDER) -> None:
    one = outbox.Letter(key, "test", "asha", "masha", f"words of {key}", kind, priority)
    with farm.store.begin() as tx:
        outbox.put(tx, [one], NOW)


def stop(farm: Farm, number: str = "s1", word: str = "STOP") -> None:
    """The word comes in and is handled, as by another worker."""
    inbox.keep(farm.store, Incoming("test", number, "asha", word, NOW), NOW)
    assert farm.exchange.message(NOW)


def drained(farm: Farm, now: datetime = NOW) -> list[str]:
    before = len(farm.net.arrived)
    while farm.courier.drain(now):
        pass
    return [each.kind for each in farm.net.arrived[before:]]


def became(farm: Farm, key: str) -> tuple[str, str]:
    with farm.store.reading() as tx:
        row = tx.execute(select(rows).where(rows.c.key == key)).one()
    return row.status, row.cause


def test_a_stop_between_due_and_claim_drops_what_waits(farm: Farm) -> None:
    put(farm, "due")
    put(farm, "asked", "reply", outbox.REPLY)
    stop(farm)
    assert drained(farm) == ["last"]
    assert became(farm, "due") == became(farm, "asked") == ("dropped", "stopped")


def test_a_stop_between_claim_and_send_holds_the_message(farm: Farm) -> None:
    put(farm, "first")
    put(farm, "second")

    def stops(_outgoing: Outgoing) -> Outcome:
        if not farm.net.arrived:
            stop(farm)
        return Outcome(Became.SENT)

    farm.net.meets = stops
    # Both were claimed; the word came while the first was on its way.
    assert farm.courier.drain(NOW) == 2
    assert [each.key for each in farm.net.arrived] == ["first"]
    assert became(farm, "second") == ("dropped", "stopped")
    assert drained(farm) == ["last"]


@pytest.mark.parametrize("outcome", [Became.LATER, Became.UNKNOWN])
def test_a_try_that_failed_before_the_stop_is_not_made_again(farm: Farm, outcome: Became) -> None:
    put(farm, "due")

    def fails(outgoing: Outgoing) -> Outcome:
        if outgoing.kind == "last":
            return Outcome(Became.SENT)
        stop(farm)
        return Outcome(outcome, "the line went dead")

    farm.net.meets = fails
    farm.courier.drain(NOW)
    heard = [each.kind for each in farm.net.arrived]
    for seconds in (1, 10, 100, 10_000):
        drained(farm, NOW + seconds * SECOND)
    assert [each.kind for each in farm.net.arrived[len(heard) :]] == ["last"]
    assert became(farm, "due") == ("dropped", "stopped")


def test_a_stop_that_nobody_has_read_yet_holds_what_was_not_asked_for(farm: Farm) -> None:
    put(farm, "due")
    inbox.keep(farm.store, Incoming("test", "s1", "asha", "STOP", NOW), NOW)
    assert drained(farm) == []
    assert farm.exchange.message(NOW + SECOND)
    assert drained(farm, NOW + 2 * SECOND) == ["last"]
    assert became(farm, "due") == ("dropped", "stopped")


def test_any_other_unread_word_only_delays_it(farm: Farm) -> None:
    put(farm, "due")
    inbox.keep(farm.store, Incoming("test", "s1", "asha", "my barrels", NOW), NOW)
    assert drained(farm) == []
    farm.exchange.message(NOW + SECOND)
    assert sorted(drained(farm, NOW + 2 * SECOND)) == ["reminder", "reply"]


def test_a_word_that_stays_unread_holds_nothing_for_ever(farm: Farm) -> None:
    put(farm, "due")
    inbox.keep(farm.store, Incoming("test", "s1", "asha", "my barrels", NOW), NOW)
    assert drained(farm, NOW + standing.UNHEARD - SECOND) == []
    assert drained(farm, NOW + standing.UNHEARD + 2 * SECOND) == ["reminder"]


def test_one_message_confirms_and_a_second_stop_says_nothing(farm: Farm) -> None:
    for number, word in enumerate(("STOP", "stop", "Unsubscribe", "ALTO", "बंद करो")):
        stop(farm, f"s{number}", word)
    assert drained(farm) == ["last"]


def test_whoever_stopped_and_asks_for_help_is_told_how_to_begin_again(farm: Farm) -> None:
    stop(farm)
    drained(farm)
    stop(farm, "h1", "HELP")
    assert drained(farm) == ["last"]
    assert "START" in farm.net.arrived[-1].text
    stop(farm, "r1", "START")
    assert drained(farm) == ["reply"]


def test_a_reminder_that_falls_due_after_a_stop_is_not_written(farm: Farm) -> None:
    farm.says("asha", "started 200 l barrel", NOW)
    farm.engine.step(NOW)
    stop(farm)
    before = len(farm.net.arrived)
    farm.until(NOW + timedelta(days=3), NOW + MINUTE)
    assert [each.kind for each in farm.net.arrived[before:]] == ["last"]
    assert farm.reminders() == []


def test_a_stop_handled_while_a_courier_sends_lets_at_most_the_one_under_way_go(
    farm: Farm,
) -> None:
    for number in range(60):
        put(farm, f"n{number}")
    under_way = Event()

    def slow(_outgoing: Outgoing) -> Outcome:
        under_way.set()
        sleep(0.01)
        return Outcome(Became.SENT)

    farm.net.meets = slow
    courier = Thread(target=lambda: drained(farm))
    courier.start()
    assert under_way.wait(10)
    stop(farm)
    gone = len([each for each in farm.net.arrived if each.kind == "reminder"])
    courier.join()
    drained(farm, NOW + SECOND)
    sent = [each.kind for each in farm.net.arrived]
    assert sent.count("reminder") <= gone + 1 < 60
    assert sent.count("last") == 1
