"""The record's one building block: an append-only entry, and the subject it is about."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that happened, never changed afterwards; a correction is another entry.

    `at` is when it happened (UTC), `data` its plain values (JSON types only), `member_id` who
    said so. Reverted entries are left out before anyone folds.
    """

    kind: str
    at: datetime
    data: Mapping[str, object] = field(default_factory=dict)
    member_id: str = ""


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
