"""How many unasked messages a person gets, over both stores: also where a phone is another's."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import select, update

from bot.records import taking_back
from bot.records.store import Store
from bot.records.tables import member
from bot.records.tables import rule as rules_
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
