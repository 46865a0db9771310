"""The courier over both stores: what each outcome leads to, and what is looked at before a send."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any, ClassVar

import pytest
from sqlalchemy import Row, insert, select, update

from bot.courier import LEASE, Courier
from bot.marking import MOST_TRIES, PROVEN_WAIT
from bot.messages import Became, Manner, Outcome, Outgoing, Pace
from bot.records import outbox, people, tallies
from bot.records.store import Store, StoreError
from bot.records.tables import address as addresses
from bot.records.tables import fired, member
from bot.records.tables import outbox as rows
from bot.records.tables import rule as rules_
from tests.contract.rows import letter

NOW = datetime(2026, 3, 2, 7, tzinfo=UTC)
SECOND = timedelta(seconds=1)


class Wire:
    """A channel whose outcomes are told beforehand; what it was handed is kept."""

    name: ClassVar[str] = "test"
    polled: ClassVar[bool] = False
    manner = Manner()

    def __init__(self, *outcomes: Outcome, pace: Pace | None = None) -> None:
        self.pace = pace or Pace()
        self.outcomes = list(outcomes)
        self.sent: list[Outgoing] = []
        self.before: Callable[[], None] = lambda: None

    def send(self, outgoing: Outgoing) -> Outcome:
        self.sent.append(outgoing)
        self.before()
        return self.outcomes.pop(0) if self.outcomes else Outcome(Became.SENT, outside_id="o")

    def close(self) -> None:
        return


@pytest.fixture
def grower(store: Store) -> None:
    with store.begin() as tx:
        people.welcome(tx, member_id="m1", group_id="g1", channel="test", address="7", now=NOW)


def put(store: Store, *letters: outbox.Letter) -> list[int | None]:
    with store.begin() as tx:
        rows = outbox.put(tx, letters, NOW)
        return [rows.get(each.key) for each in letters]


def the_row(store: Store, key: str = "k") -> Row[Any]:
    with store.begin() as tx:
        return tx.execute(select(rows).where(rows.c.key == key)).one()


pytestmark = pytest.mark.usefixtures("grower")


def test_what_was_sent_is_marked_so(store: Store) -> None:
    put(store, letter("k"))
    assert Courier(store, Wire()).drain(NOW) == 1
    row = the_row(store)
    assert (row.status, row.outside_id, row.sent_at) == ("sent", "o", NOW)


def test_a_wait_for_one_chat_holds_that_chat_only(store: Store) -> None:
    put(store, letter("k"), letter("other", address="8"))
    wire = Wire(Outcome(Became.LATER, "429", retry_after_s=30))
    courier = Courier(store, wire)
    courier.drain(NOW)
    assert [each.key for each in wire.sent] == ["k", "other"]
    assert the_row(store, "other").status == "sent"
    put(store, letter("next"))
    assert courier.drain(NOW + 29 * SECOND) == 0
    courier.drain(NOW + 31 * SECOND)
    courier.drain(NOW + 32 * SECOND)
    assert the_row(store).status == the_row(store, "next").status == "sent"


def test_a_wait_for_the_whole_channel_gives_the_rest_of_the_batch_back(store: Store) -> None:
    put(store, letter("k"), letter("other", address="8"))
    wire = Wire(Outcome(Became.LATER, "away", retry_after_s=60, whole_channel=True))
    courier = Courier(store, wire)
    courier.drain(NOW)
    assert [each.key for each in wire.sent] == ["k"]
    assert the_row(store, "other").attempts == 0
    assert courier.drain(NOW + 59 * SECOND) == 0
    assert courier.drain(NOW + 60 * SECOND) == 2


def test_an_answer_does_not_wait_for_the_reminders_that_were_claimed_before_it(
    store: Store,
) -> None:
    put(store, *[letter(f"r{n}", kind="reminder", priority=outbox.REMINDER) for n in range(3)])
    wire = Wire(pace=Pace(per_second=30))

    def asks() -> None:
        wire.before = lambda: None
        put(store, letter("reply"))

    wire.before = asks
    courier = Courier(store, wire)
    while courier.drain(NOW):
        pass
    assert [each.key for each in wire.sent] == ["r0", "reply", "r1", "r2"]
    assert the_row(store, "r2").attempts == 1


def test_tries_back_off_and_end_with_their_cause(store: Store) -> None:
    put(store, letter("k"))
    wire = Wire(*[Outcome(Became.LATER, "busy")] * 20)
    courier = Courier(store, wire)
    now, waits = NOW, []
    while the_row(store).status == "waiting":
        now = the_row(store).not_before_at
        courier.drain(now)
        waits.append((the_row(store).not_before_at - now).total_seconds())
    assert waits[:4] == [5, 10, 20, 40]
    assert the_row(store).status == "refused"
    assert the_row(store).cause == f"given up after {MOST_TRIES} tries: busy"


def test_a_lost_answer_is_tried_once_more_and_never_a_third_time(store: Store) -> None:
    put(store, letter("k", repeat="said"))
    wire = Wire(*[Outcome(Became.UNKNOWN, "read timeout")] * 5)
    courier = Courier(store, wire, again=lambda _member: "Again:")
    courier.drain(NOW)
    assert the_row(store).unknown_at == NOW
    courier.drain(NOW + 5 * SECOND)
    courier.drain(NOW + timedelta(hours=1))
    assert [each.text for each in wire.sent] == ["text of k", "Again:\ntext of k"]
    assert the_row(store).status == "unknown"
    with store.begin() as tx:
        assert tallies.all_of(tx) == {"may_have_gone_twice": 1}


def test_a_harmless_question_is_repeated_as_it_was(store: Store) -> None:
    put(store, letter("k", repeat="same"))
    wire = Wire(Outcome(Became.UNKNOWN, "read timeout"))
    courier = Courier(store, wire, again=lambda _member: "Again:")
    courier.drain(NOW)
    courier.drain(NOW + PROVEN_WAIT)
    assert [each.text for each in wire.sent] == ["text of k", "text of k"]


def test_in_an_outage_no_second_try_is_spent_and_one_message_is_the_first_to_ask(
    store: Store,
) -> None:
    """An hour of 500s, and nothing arrives: what was asked for before it comes after it."""
    put(store, *[letter(f"k{n}", address=f"{n}") for n in range(20)])
    wire = Wire()
    back_at = NOW + timedelta(hours=1)
    moment = NOW
    courier = Courier(store, wire)
    while moment < back_at + timedelta(minutes=10):
        wire.outcomes = [Outcome(Became.UNKNOWN, "500")] * 64 if moment < back_at else []
        while courier.drain(moment):
            pass
        moment += 10 * SECOND
    became = Counter(the_row(store, f"k{n}").status for n in range(20))
    # Each of those that ended unknown asked whether it was over: ever less often.
    assert became["sent"] + became["unknown"] == 20
    assert 5 <= became["unknown"] <= 15
    assert max(Counter(each.key for each in wire.sent).values()) == 2


def test_a_minute_of_500s_loses_no_message(store: Store) -> None:
    put(store, *[letter(f"k{n}", address=f"{n}") for n in range(5)])
    wire = Wire()
    courier = Courier(store, wire)
    for second in range(0, 400, 5):
        wire.outcomes = [Outcome(Became.UNKNOWN, "502")] * 64 if second <= 60 else []
        courier.drain(NOW + second * SECOND)
    assert {the_row(store, f"k{n}").status for n in range(5)} == {"sent"}
    assert len(wire.sent) == 10


def test_one_stuck_chat_is_no_outage(store: Store) -> None:
    put(store, letter("k"), letter("other", address="8"))
    wire = Wire(Outcome(Became.UNKNOWN, "read timeout"))
    courier = Courier(store, wire)
    courier.drain(NOW)
    courier.drain(NOW + 5 * SECOND)
    assert [each.key for each in wire.sent] == ["k", "other", "k"]


def test_a_refusal_shows_that_the_channel_is_there(store: Store) -> None:
    put(store, letter("k"), letter("other", address="8"))
    wire = Wire(Outcome(Became.UNKNOWN, "read timeout"), Outcome(Became.REFUSED, "too long"))
    courier = Courier(store, wire)
    courier.drain(NOW)
    courier.drain(NOW + 5 * SECOND)
    assert [each.key for each in wire.sent] == ["k", "other", "k"]


def test_a_trouble_of_the_night_is_forgotten_by_the_morning(store: Store) -> None:
    put(store, letter("k"))
    wire = Wire(*[Outcome(Became.UNKNOWN, "read timeout")] * 2)
    courier = Courier(store, wire)
    courier.drain(NOW)
    courier.drain(NOW + PROVEN_WAIT)
    assert the_row(store).status == "unknown"
    later = NOW + timedelta(hours=9)
    put(store, letter("morning"))
    wire.outcomes = [Outcome(Became.LATER, "connection refused", whole_channel=True)]
    courier.drain(later)
    courier.drain(later + 5 * SECOND)
    assert the_row(store, "morning").status == "sent"


def test_a_channel_that_is_down_is_asked_ever_less_often(store: Store) -> None:
    put(store, letter("k"))
    down = Outcome(Became.LATER, "connection refused", whole_channel=True)
    wire = Wire(*[down] * 1000)
    courier = Courier(store, wire)
    for second in range(0, 3600, 5):
        courier.drain(NOW + second * SECOND)
    assert 12 <= len(wire.sent) <= 20
    wire.outcomes = []
    courier.drain(NOW + timedelta(seconds=3600 + 300))
    assert the_row(store).status == "sent"


def test_what_a_lost_courier_held_goes_by_the_same_rule(store: Store) -> None:
    put(store, letter("k"))
    with store.begin() as tx:
        outbox.claim(tx, "test", "lost", NOW, LEASE, 1)
    wire = Wire()
    courier = Courier(store, wire)
    assert courier.drain(NOW + LEASE - SECOND) == 0
    courier.drain(NOW + LEASE)
    courier.drain(NOW + LEASE + 5 * SECOND)
    row = the_row(store)
    assert row.status == "sent"
    assert row.unknown_at == NOW + LEASE


def test_a_courier_that_was_paused_past_half_its_lease_sends_no_more(store: Store) -> None:
    put(store, letter("k"), letter("other", address="8"))
    seconds = 0.0
    wire = Wire()

    def pause() -> None:
        nonlocal seconds
        seconds = LEASE.total_seconds()

    wire.before = pause
    Courier(store, wire, elapsed_s=lambda: seconds).drain(NOW)
    assert [each.key for each in wire.sent] == ["k"]
    assert the_row(store, "other").status == "waiting"


def test_a_courier_that_wakes_after_it_was_taken_for_lost_marks_what_it_surely_sent(
    store: Store,
) -> None:
    put(store, letter("k"))
    wire = Wire()

    def adopt() -> None:
        Courier(store, Wire()).drain(NOW + LEASE)

    wire.before = adopt
    Courier(store, wire).drain(NOW)
    assert the_row(store).status == "sent"
    assert the_row(store).unknown_at is None
    assert Courier(store, Wire()).drain(NOW + LEASE + 10 * SECOND) == 0


def test_nothing_goes_after_a_stop_but_its_confirmation(store: Store) -> None:
    put(store, letter("k"), letter("last", kind="last"))
    wire = Wire()
    with store.begin() as tx:
        tx.execute(update(member).values(stopped_at=NOW))
    Courier(store, wire).drain(NOW)
    assert [each.key for each in wire.sent] == ["last"]
    assert (the_row(store).status, the_row(store).cause) == ("dropped", "stopped")


def test_a_stop_that_comes_between_two_sends_holds_the_second(store: Store) -> None:
    put(store, letter("k"), letter("k2"))
    wire = Wire()

    def stop() -> None:
        with store.begin() as tx:
            tx.execute(update(member).values(stopped_at=NOW))

    wire.before = stop
    Courier(store, wire).drain(NOW)
    assert [each.key for each in wire.sent] == ["k"]


def test_words_whose_time_has_passed_are_dropped_and_say_so(store: Store) -> None:
    put(store, letter("k", valid_until=NOW + SECOND))
    wire = Wire()
    Courier(store, wire).drain(NOW + SECOND)
    assert wire.sent == []
    assert the_row(store).cause == "too late"


def test_a_reminder_does_not_wake_anybody_and_an_answer_goes_at_any_hour(store: Store) -> None:
    with store.begin() as tx:
        tx.execute(update(member).values(settings={"quiet": ["06:00", "08:00"]}))
    put(store, letter("reminder", kind="reminder"), letter("reply"))
    wire = Wire()
    Courier(store, wire).drain(NOW)
    assert [each.key for each in wire.sent] == ["reply"]
    assert the_row(store, "reminder").not_before_at == NOW + timedelta(hours=1)


def overtake(store: Store) -> None:
    """What a change of the subject does to words a courier holds."""
    with store.begin() as tx:
        held = update(rows).where(rows.c.status == "sending")
        tx.execute(held.values(cause=outbox.OVERTAKEN))


def test_words_that_were_overtaken_are_dropped_and_their_day_falls_due_again(store: Store) -> None:
    (number,) = put(store, letter("k"), letter("k2"))[1:]
    with store.begin() as tx:
        tx.execute(
            insert(rules_).values(
                kind="stir", subject_id="s", key="", member_id="m1", zone="UTC",
                stale="fold", lapse_hours=1,
            )
        )  # fmt: skip
        tx.execute(
            insert(fired).values(
                rule_id=1, due_on=NOW.date(), outbox_id=number, became="said", at=NOW
            )
        )
    wire = Wire()
    wire.before = lambda: overtake(store)
    Courier(store, wire).drain(NOW)
    assert [each.key for each in wire.sent] == ["k"]
    gone = the_row(store, f"k2:{number}")  # its key is free for the words that come in its place
    assert (gone.status, gone.cause) == ("dropped", "overtaken")
    with store.begin() as tx:
        assert tx.execute(select(rules_.c.due_at)).scalar_one() == NOW


@pytest.mark.parametrize(
    ("outcome", "became"),
    [
        (Outcome(Became.LATER, "429", retry_after_s=30), "dropped"),
        (Outcome(Became.UNKNOWN, "read timeout"), "unknown"),
        (Outcome(Became.SENT), "sent"),
    ],
)
def test_words_that_are_overtaken_while_they_are_on_the_line_do_not_go_again(
    store: Store, outcome: Outcome, became: str
) -> None:
    put(store, letter("k"))
    wire = Wire(outcome)
    wire.before = lambda: overtake(store)
    courier = Courier(store, wire)
    courier.drain(NOW)
    courier.drain(NOW + timedelta(hours=1))
    assert len(wire.sent) == 1
    assert the_row(store).status == became


def test_what_was_given_back_because_the_channel_is_away_is_still_overtaken(store: Store) -> None:
    put(store, letter("k"), letter("k2", address="8"))
    wire = Wire(Outcome(Became.LATER, "away", retry_after_s=60, whole_channel=True))
    wire.before = lambda: overtake(store)
    Courier(store, wire).drain(NOW)
    assert the_row(store, "k2").status == "dropped"


def test_what_was_sent_before_the_database_went_away_is_marked_when_it_is_back(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(store, letter("k"), letter("k2"), letter("k3"))
    wire = Wire()
    begin = store.begin

    def goes_away() -> None:
        monkeypatch.setattr(store, "begin", away)

    def away() -> None:
        raise StoreError("the database is away")

    wire.before = goes_away
    courier = Courier(store, wire)
    with pytest.raises(StoreError):
        courier.drain(NOW)
    with pytest.raises(StoreError):
        courier.drain(NOW + SECOND)
    monkeypatch.setattr(store, "begin", begin)
    wire.before = lambda: None
    courier.drain(NOW + 2 * SECOND)
    assert [each.key for each in wire.sent] == ["k", "k2", "k3"]
    for key in ("k", "k2", "k3"):
        row = the_row(store, key)
        assert (row.status, row.attempts, row.unknown_at) == ("sent", 1, None)


def test_what_waits_for_a_dead_address_goes_to_the_members_other_one(store: Store) -> None:
    with store.begin() as tx:
        tx.execute(
            insert(addresses).values(
                channel="sms", address="+1", member_id="m1", heard_at=NOW - timedelta(days=1)
            )
        )
    put(store, letter("k"), letter("k2"))
    wire = Wire(Outcome(Became.REFUSED, "blocked", dead_address=True))
    Courier(store, wire).drain(NOW, most=1)
    assert (the_row(store).status, the_row(store).channel) == ("waiting", "sms")
    assert (the_row(store, "k2").status, the_row(store, "k2").channel) == ("waiting", "sms")


def test_words_for_a_dead_phone_are_never_sent_on_to_somebody_elses(store: Store) -> None:
    with store.begin() as tx:
        people.welcome(tx, member_id="k", group_id="g2", channel="sms", address="+2", now=NOW)
        tx.execute(update(member).where(member.c.id == "m1").values(via_member_id="k"))
    put(store, letter("first"), letter("own"))
    wire = Wire(Outcome(Became.REFUSED, "blocked", dead_address=True))
    Courier(store, wire).drain(NOW, most=1)
    assert (the_row(store, "first").status, the_row(store, "first").address) == ("refused", "7")
    assert (the_row(store, "own").status, the_row(store, "own").address) == ("dropped", "7")


def test_what_waits_for_somebody_nobody_can_reach_is_dropped_and_says_so(store: Store) -> None:
    put(store, letter("k"), letter("k2"))
    wire = Wire(Outcome(Became.REFUSED, "blocked", dead_address=True))
    Courier(store, wire).drain(NOW, most=1)
    assert the_row(store).status == "refused"
    assert the_row(store, "k2").status == "dropped"


def test_an_address_that_became_another_is_rewritten_and_tried_at_once(store: Store) -> None:
    put(store, letter("k"), letter("k2"))
    wire = Wire(Outcome(Became.LATER, "migrated", retry_after_s=0, new_address="-1007"))
    courier = Courier(store, wire)
    courier.drain(NOW, most=1)
    courier.drain(NOW + SECOND)
    assert [each.address for each in wire.sent] == ["7", "-1007", "-1007"]


def test_a_channel_that_raises_is_an_unknown_and_stops_nobody(store: Store) -> None:
    put(store, letter("k"), letter("other", address="8"))
    wire = Wire()

    def fail() -> None:
        wire.before = lambda: None
        raise RuntimeError

    wire.before = fail
    Courier(store, wire).drain(NOW)
    assert the_row(store).unknown_at == NOW
    assert the_row(store, "other").status == "sent"


def test_side_by_side_each_chat_keeps_its_order(store: Store) -> None:
    keys = [(f"{chat}-{number}", str(chat)) for number in range(4) for chat in range(6)]
    put(store, *[letter(key, address=address) for key, address in keys])
    wire = Wire(pace=Pace(at_once=4))
    courier = Courier(store, wire)
    while courier.drain(NOW):
        pass
    courier.close()
    for chat in range(6):
        mine = [each.key for each in wire.sent if each.address == str(chat)]
        assert mine == [f"{chat}-{number}" for number in range(4)]


def test_a_program_that_ends_gives_back_what_it_had_not_begun(store: Store) -> None:
    put(store, letter("k"), letter("k2"))
    wire = Wire()
    courier = Courier(store, wire, ending=lambda: len(wire.sent) > 0)
    courier.drain(NOW)
    assert the_row(store).status == "sent"
    assert (the_row(store, "k2").status, the_row(store, "k2").attempts) == ("waiting", 0)
