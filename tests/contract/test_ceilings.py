"""How many unasked messages a person gets, over both stores: also where a phone is another's."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import select, update

from bot.ceilings import room
from bot.exchange import NotHandled
from bot.records import people, taking_back, tallies
from bot.records.changes import Told
from bot.records.store import Store
from bot.records.tables import member
from bot.records.tables import outbox as letters
from bot.records.tables import rule as rules_
from bot.records.unasked import Unasked
from bot.telling import Teller, tell
from tests.faults.farm import Farm

NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)


def shared_phone(farm: Farm, names: tuple[str, ...]) -> None:
    """A keeper with a barrel writes for others who have no phone and a barrel each."""
    farm.settle("0", "UTC", "07:00", NOW)
    words = ["found a group called Hill", "my name is Keeper", "started 200 l barrel"]
    for name in names:
        words += [f"for {name}: started 20 l barrel", "yes"]
    for text in words:
        farm.says("0", text, NOW)
        farm.engine.step(NOW)


def days_said(farm: Farm) -> dict[str, set[str]]:
    """On which days each member was called to stir."""
    said: dict[str, set[str]] = {}
    with farm.store.reading() as tx:
        names = {row.id: row.name for row in tx.execute(select(member))}
    for row in farm.reminders():
        first = row.text.partition("\n")[0].rstrip(":")
        whom = first if first in names.values() else "Keeper"
        said.setdefault(whom, set()).add(f"{row.created_at:%d}")
    return said


@pytest.mark.parametrize("hour", ["07:00", "09:00"])
def test_each_on_a_shared_phone_is_called_every_day(store: Store, hour: str) -> None:
    farm = Farm(store)
    shared_phone(farm, ("Aunt", "Zawadi"))
    with store.begin() as tx:
        # The keeper's own hour with the others', or after them.
        tx.execute(update(member).where(member.c.id == "m0").values(hour=hour))
        tx.execute(
            update(rules_)
            .where(rules_.c.member_id == "m0", rules_.c.kind == "stir")
            .values(at=hour, due_at=datetime(2026, 3, 3, int(hour[:2]), tzinfo=UTC))
        )
    farm.until(NOW + 4 * DAY, NOW)
    every = {"03", "04", "05", "06"}
    assert days_said(farm) == {"Keeper": every, "Aunt": every, "Zawadi": every}


def test_somebody_on_anothers_phone_has_a_ceiling_of_their_own(store: Store) -> None:
    farm = Farm(store)
    shared_phone(farm, ("Aunt",))
    farm.says("0", "for Aunt: started 30 l barrel", NOW)
    farm.engine.step(NOW)
    with store.begin() as tx:
        aunt = tx.execute(select(member.c.id).where(member.c.name == "Aunt")).scalar_one()
        stirs = tx.execute(
            select(rules_.c.id).where(rules_.c.member_id == aunt, rules_.c.kind == "stir")
        ).scalars()
        later = update(rules_).where(rules_.c.id == max(stirs))
        tx.execute(later.values(at="10:00", due_at=datetime(2026, 3, 3, 10, tzinfo=UTC)))
    farm.until(NOW + DAY, NOW)
    mine = [row for row in farm.reminders() if row.text.startswith("Aunt")]
    assert [row.created_at for row in mine] == [datetime(2026, 3, 3, 7, tzinfo=UTC)]
    farm.until(NOW + 2 * DAY, NOW + DAY)
    mine = [row for row in farm.reminders() if row.text.startswith("Aunt")]
    assert len(mine) == 2
    assert "B2" in mine[1].text
    assert "B3" in mine[1].text


def test_what_was_overtaken_comes_again_in_the_same_second(store: Store) -> None:
    farm = Farm(store)
    farm.settle("0", "UTC", "07:00", NOW)
    farm.says("0", "started 200 l barrel", NOW)
    farm.engine.step(NOW)
    morning = datetime(2026, 3, 3, 7, tzinfo=UTC)
    assert farm.exchange.due(morning) == 1
    with store.begin() as tx:
        (stir,) = tx.execute(select(rules_).where(rules_.c.kind == "stir")).all()
        taking_back.recall(tx, stir.subject_id, morning)
    assert farm.exchange.due(morning) == 1
    farm.engine.step(morning)
    assert [row.status for row in farm.reminders()] == ["dropped", "sent"]


def test_forty_notices_in_an_hour_are_six_today_and_three_on_each_day_of_a_week(
    store: Store,
) -> None:
    farm = Farm(store)
    for who in ("0", "1"):
        farm.settle(who, "UTC", "07:00", NOW)
    moment = NOW
    for number in range(40):
        moment += timedelta(minutes=1)
        with store.begin() as tx:
            writer = people.by_id(tx, "m0")
            assert writer is not None
            told = Told((NotHandled(),), member_id="m1")
            tell(tx, farm.exchange.rooms, told, Teller(writer, number), moment)
        farm.engine.step(moment)
    farm.until(NOW + 30 * DAY, moment)
    with store.reading() as tx:
        gone = tx.execute(select(letters).where(letters.c.kind == "notice")).all()
        counted = tallies.all_of(tx)
    days = Counter(f"{row.sent_at:%m-%d}" for row in gone if row.status == "sent")
    week = [f"03-{day:02}" for day in range(3, 10)]
    assert days == {"03-02": 6, **dict.fromkeys(week, 3)}
    assert counted["notices_too_many"] == 40 - 6 - 21
    today = [row.text for row in sorted(gone, key=lambda row: row.id)[:6]]
    assert len(set(today[:5])) == 1
    assert today[5] != today[0]  # the sixth says that more may wait
    assert today[5].startswith(today[0])


@pytest.mark.parametrize(
    ("ceiling", "before", "free"),
    [
        ("alert", [0] * 5, True),
        ("alert", [0] * 6, False),
        ("alert", [1] * 6, True),
        ("alert", [day for day in range(1, 7) for _ in range(5)][:27], True),
        ("alert", [day for day in range(1, 7) for _ in range(5)][:28], False),
        ("alert", [7] * 28, True),
        ("routine", [], True),
        ("routine", [0], False),
        ("routine", [1, 2], True),
        ("routine", [1, 2, 3], False),
        ("routine", [2, 3, 7], True),
    ],
)
def test_how_many_may_go_in_a_day_and_in_seven(
    store: Store, ceiling: str, before: list[int], free: bool
) -> None:
    farm = Farm(store)
    farm.settle("0", "UTC", "07:00", NOW)
    sent = [
        Unasked(ceiling, "reminder", NOW - days * DAY - HOUR, NOW - days * DAY - HOUR)
        for days in before
    ]
    with store.reading() as tx:
        member_ = people.by_id(tx, "m0")
        assert member_ is not None
        found = room(tx, member_, ceiling, sent, NOW)
    tomorrow = datetime(2026, 3, 3, 7, tzinfo=UTC)
    assert found.free_at == (None if free else tomorrow)
    assert found.last == (ceiling == "alert" and free and before.count(0) == 5)
