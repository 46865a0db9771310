"""Who is not answered, through the exchange: machines, too many from one number, strangers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import select

from bot.messages import Incoming, Manner
from bot.records import inbox, tallies
from bot.records.tables import entry, member, outbox
from bot.records.tables import inbox as came
from bot.restraint import DAY_AS_HOURS
from tests.contract.stores import opened, sqlite_at
from tests.faults.farm import Farm, Net, prepared

NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)
SECOND, MINUTE, HOUR = timedelta(seconds=1), timedelta(minutes=1), timedelta(hours=1)
MACHINE = "I am driving and will call you back at {n}"


@pytest.fixture
def farm(tmp_path: Path) -> Iterator[Farm]:
    store = opened(sqlite_at(tmp_path))
    farm = Farm(store, Net(manner=Manner(answers_an_hour=5, newcomers_an_hour=3)))
    farm.exchange.rooms = replace(prepared(), manner=lambda _name: farm.net.manner)
    farm.settle("+254712345678", "UTC", "07:00", NOW)
    yield farm
    store.close()


def says(farm: Farm, text: str, now: datetime, who: str = "+254712345678") -> list[str]:
    before = len(farm.net.arrived)
    farm.says(who, text, now)
    farm.engine.step(now)
    return [each.text for each in farm.net.arrived[before:]]


def counted(farm: Farm, name: str) -> int:
    with farm.store.reading() as tx:
        return tallies.all_of(tx).get(name, 0)


def test_a_machine_is_left_alone_after_three_rounds(farm: Farm) -> None:
    farm.net.manner = Manner()
    answered = [says(farm, MACHINE.format(n=n), NOW + n * 5 * SECOND) for n in range(8)]
    assert [bool(each) for each in answered] == [True, True, True, *[False] * 5]
    assert counted(farm, "machines_left_alone") == 5


def test_a_reminder_does_not_wake_a_machine_again_on_the_same_day(farm: Farm) -> None:
    says(farm, "started 200 l barrel", NOW - HOUR)
    for n in range(8):
        says(farm, MACHINE.format(n=n), NOW + n * 5 * SECOND)
    tomorrow = (NOW + timedelta(days=1)).replace(hour=7)
    farm.until(tomorrow, NOW + MINUTE)
    assert farm.reminders()
    assert says(farm, MACHINE.format(n=9), tomorrow + 5 * SECOND) == []


def test_whoever_says_something_else_is_heard_again(farm: Farm) -> None:
    for n in range(6):
        says(farm, MACHINE.format(n=n), NOW + n * 5 * SECOND)
    assert says(farm, "leaf spray 3 tanks of 16 l", NOW + 2 * HOUR)


def test_a_person_who_tells_the_same_thing_again_is_always_answered(farm: Farm) -> None:
    farm.net.manner = Manner()
    says(farm, "started 200 l barrel", NOW)
    for n in range(1, 6):
        assert says(farm, "stirred", NOW + n * 10 * SECOND)
    for n in range(9):
        assert says(farm, f"used {n + 1} l from b1", NOW + MINUTE + n * 10 * SECOND)


def test_a_machine_whose_words_say_something_by_chance_is_left_alone_later(farm: Farm) -> None:
    farm.net.manner = Manner()
    text = "I cannot talk now, leave a message"
    told = [len(says(farm, f"{text}, my barrels", NOW + n * 5 * SECOND)) for n in range(12)]
    assert told == [1] * 6 + [0] * 6


def test_a_broken_message_that_comes_over_and_over_is_asked_for_twice_at_most(farm: Farm) -> None:
    farm.net.manner = Manner()
    for n in range(6):
        at = NOW + n * 5 * SECOND
        bad = Incoming("test", f"b{n}", "+254712345678", "", at, fault="part_missing")
        inbox.keep(farm.store, bad, at)
        farm.engine.step(at)
    assert len(farm.net.arrived) == 3


def test_too_many_messages_are_told_of_once_and_still_recorded(farm: Farm) -> None:
    says(farm, "started 200 l barrel", NOW)
    told = [says(farm, f"used {n} l", NOW + n * MINUTE) for n in range(1, 12)]
    assert [len(each) for each in told] == [1, 1, 1, 1, 1, *[0] * 6]
    [last] = told[4]
    assert last == (
        "Many messages came from your number. I answer again Mon 2 Mar 10:00. "
        "Until then I only record what is clear."
    )
    with farm.store.reading() as tx:
        drawn = tx.execute(select(entry.c.id).where(entry.c.kind == "draw")).all()
    assert len(drawn) == 11
    assert says(farm, "my barrels", NOW + HOUR)


def test_a_day_has_its_own_bound(farm: Farm) -> None:
    answered = 0
    for n in range(60):
        answered += len(says(farm, "my barrels", NOW + n * 15 * MINUTE))
    assert answered == DAY_AS_HOURS * 5 + 1


def test_a_question_that_is_not_sent_is_not_asked(farm: Farm) -> None:
    for n in range(6):
        says(farm, "my barrels", NOW + n * MINUTE)
    says(farm, "started a barrel", NOW + 10 * MINUTE)
    assert says(farm, "200 l", NOW + 2 * HOUR) != []
    with farm.store.reading() as tx:
        assert tx.execute(select(entry.c.id)).all() == []


def test_stop_is_heard_however_many_messages_came(farm: Farm) -> None:
    for n in range(9):
        says(farm, "my barrels", NOW + n * SECOND)
    [last] = says(farm, "STOP", NOW + MINUTE)
    assert "START" in last
    assert says(farm, "my barrels", NOW + 2 * HOUR) == []


def test_more_new_numbers_than_a_channel_takes_are_set_aside(farm: Farm) -> None:
    for n in range(6):
        says(farm, "hello", NOW + n * SECOND, who=f"+25471234567{n}0")
    assert len(farm.net.arrived) == 3
    with farm.store.reading() as tx:
        rows = tx.execute(select(came.c.cause).where(came.c.status == "bad")).scalars().all()
        assert rows == ["too many new numbers at once"] * 3
        assert len(tx.execute(select(member.c.id)).all()) == 1 + 3
    assert counted(farm, "newcomers_turned_away") == 3
    assert says(farm, "hello", NOW + HOUR, who="+254712345699")


def test_known_numbers_are_served_through_a_flood_of_strangers(farm: Farm) -> None:
    for n in range(9):
        says(farm, "hello", NOW + n * SECOND, who=f"+25471234567{n}0")
    assert says(farm, "my barrels", NOW + MINUTE)


def test_a_message_longer_than_what_is_read_says_where_it_was_cut(farm: Farm) -> None:
    long = "started 200 l barrel " + "and it smells good " * 30
    [said] = says(farm, long, NOW)
    assert "I read your message only up to" in said


def test_what_is_counted_is_nothing_but_rows_that_are_there(farm: Farm) -> None:
    """A restart remembers: the state is the outbox and the inbox themselves."""
    for n in range(8):
        says(farm, "my barrels", NOW + n * SECOND)
    again = Farm(farm.store, Net(manner=farm.net.manner))
    again.exchange.rooms = farm.exchange.rooms
    again.says("+254712345678", "my barrels", NOW + MINUTE)
    inbox_before = NOW + MINUTE
    again.engine.step(inbox_before)
    assert again.net.arrived == []
    with farm.store.reading() as tx:
        replies = tx.execute(select(outbox.c.id).where(outbox.c.kind == "reply")).all()
    assert len(replies) == 5 + 1
