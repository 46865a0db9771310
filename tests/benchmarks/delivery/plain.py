"""Members with one plain daily reminder each, worded at no cost: the machinery alone."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from types import SimpleNamespace
from typing import Any, ClassVar

from sqlalchemy import insert

from bot.facts import Fact
from bot.records.changes import Answer
from bot.records.store import Store
from bot.records.tables import address, grower_group, member, rule, subject
from bot.wording.say import Worded
from tests.faults.farm import Farm, Net, prepared

NOW = datetime(2026, 3, 2, 7, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Plain(Fact):
    words: ClassVar[str] = "reminder.stir"


def planted(store: Store, count: int, due_at: datetime = NOW, first: int = 0) -> None:
    """So many members with one rule each."""
    day = date(due_at.year, due_at.month, due_at.day)
    for begin in range(first, first + count, 5000):
        ids = [f"{number:016d}" for number in range(begin, min(begin + 5000, first + count))]
        with store.begin() as tx:
            tx.execute(
                insert(grower_group),
                [{"id": each, "settings": {}, "created_at": NOW} for each in ids],
            )
            tx.execute(
                insert(member),
                [{"id": each, "group_id": each, "settings": {}, "created_at": NOW} for each in ids],
            )
            tx.execute(
                insert(address),
                [{"channel": "test", "address": each, "member_id": each} for each in ids],
            )
            tx.execute(
                insert(subject),
                [
                    {
                        "id": each,
                        "kind": "batch",
                        "code": "B1",
                        "group_id": each,
                        "member_id": each,
                        "zone": "UTC",
                        "opened_at": NOW,
                    }
                    for each in ids
                ],
            )
            tx.execute(
                insert(rule),
                [
                    {
                        "kind": "stir",
                        "subject_id": each,
                        "key": "",
                        "member_id": each,
                        "zone": "UTC",
                        "first_on": day,
                        "at": f"{due_at:%H:%M}",
                        "every_days": 1,
                        "stale": "fold",
                        "lapse_hours": 12,
                        "due_on": day,
                        "due_at": due_at,
                    }
                    for each in ids
                ],
            )


def one_plain_kind() -> dict[str, Any]:
    """Rooms with one reminder kind that says one plain thing."""
    stir = SimpleNamespace(
        KIND="stir", ORDER=1, USEFUL_HOURS=12, facts=lambda _due, _book: Answer((Plain(),))
    )

    def say(*_said: Any) -> Worded:
        return Worded(("Stir your barrel",), ())

    return {"reminders": {"stir": stir}, "say": say}


def plain_farm(store: Store, net: Net) -> Farm:
    """The engine with that one kind."""
    farm = Farm(store, net)
    farm.exchange.__init__(store, replace(prepared(), **one_plain_kind()))  # type: ignore[misc]
    return farm
