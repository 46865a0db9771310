"""What passes between the daemon's tables and us: parts that came in, messages that go out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

SENDING_FAILED = {"SendingError", "Error"}
DELIVERY_FAILED = SENDING_FAILED | {"DeliveryFailed"}
DELIVERED = "DeliveryOK"


@dataclass(frozen=True, slots=True)
class Row:
    """One part as the daemon received it; `received` has no zone."""

    id: int
    sender: str
    received: datetime
    text_hex: str
    coding: str
    udh: str
    kind: int


@dataclass(frozen=True, slots=True)
class Parcel:
    """A message as it is queued; `parts` are (text, header in hex)."""

    key: str
    number: str
    parts: Sequence[tuple[str, str]]
    coding: str
    validity: int


@dataclass(frozen=True, slots=True)
class Queued:
    """A message of ours that the daemon has still to send."""

    id: int
    retries: int
    code: int
    held: bool


@dataclass(frozen=True, slots=True)
class Done:
    """A message of ours the daemon is done with: the worst of its parts."""

    id: int
    key: str
    failed: bool
    delivered: bool | None
    code: int
    error: int
    at: datetime | None


@dataclass(frozen=True, slots=True)
class SentRow:
    """One part of a message of ours the daemon is done with."""

    id: int
    key: str
    status: str
    code: int
    error: int
    at: datetime | None


def summed(parts: Sequence[SentRow]) -> Done:
    """One word on a message: it failed if a part did, it is delivered once all parts are."""
    lost = [part for part in parts if part.status in DELIVERY_FAILED]
    unsent = [part for part in parts if part.status in SENDING_FAILED]
    arrived = all(part.status == DELIVERED for part in parts)
    worst = (unsent or lost or list(parts))[0]
    delivered = False if lost else (True if arrived else None)
    key = worst.key.partition(":")[2]
    return Done(worst.id, key, bool(unsent), delivered, worst.code, worst.error, worst.at)
