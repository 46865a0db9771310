"""The record's one building block: an append-only entry, and the subject it is about."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that happened, never changed afterwards; a correction is another entry.

    `at` is when it happened (UTC), `data` its plain values (JSON types only: dates as ISO text,
    decimals as text), `member_id` who said so. Reverted entries are left out before anyone folds.
    """

    kind: str
    at: datetime
    data: Mapping[str, object] = field(default_factory=dict)
    member_id: str = ""

    def text(self, key: str, default: str = "") -> str:
        """The text under `key`, or the default where there is none."""
        value = self.data.get(key)
        return default if value is None else str(value)

    def day(self, key: str) -> date | None:
        """The calendar day under `key`, written as ISO 8601; None where there is none."""
        value = self.data.get(key)
        return None if value is None else date.fromisoformat(str(value))

    def number(self, key: str) -> Decimal | None:
        """The number under `key`, exact; None where there is none."""
        value = self.data.get(key)
        return None if value is None else Decimal(str(value))

    def whole(self, key: str) -> int | None:
        """The whole number under `key`; None where there is none."""
        value = self.number(key)
        return None if value is None else int(value)


@dataclass(frozen=True, slots=True)
class Head:
    """What a subject is before its entries say more: a batch, a plan of rounds, a plot, a heap.

    `code` is the short name a person types, as B1.
    """

    id: str
    kind: str
    code: str
    group_id: str
    opened_at: datetime
    zone: str = "UTC"

    def day_of(self, entry: Entry) -> date:
        """The day an entry speaks of: its `on`, else the day in this zone when it happened.

        >>> from datetime import UTC
        >>> barrel = Head("1", "batch", "B1", "g", datetime(2026, 3, 1, tzinfo=UTC), "Asia/Kolkata")
        >>> barrel.day_of(Entry("stirred", datetime(2026, 3, 1, 20, 0, tzinfo=UTC)))
        datetime.date(2026, 3, 2)
        """
        return entry.day("on") or self.said_on(entry)

    def said_on(self, entry: Entry) -> date:
        """The calendar day in this zone at the moment of the entry."""
        return entry.at.astimezone(ZoneInfo(self.zone)).date()
