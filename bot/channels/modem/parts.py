"""The parts the daemon stored, put together into the messages they were. Pure."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from bot.channels.modem.parcels import Row
from bot.udh import Header, header

BINARY = "8bit"

PART_MISSING = "part_missing"
SHIFT_TABLE = "shift_table"
NO_TEXT = "binary"

Bundle = tuple[str, int, int]
"""Sender, reference and total: what the parts of one message have in common."""


@dataclass(slots=True)
class Message:
    """A message whole or in the making; a part that came twice counts once."""

    bundle: Bundle
    parts: dict[int, Row] = field(default_factory=dict)
    rows: list[Row] = field(default_factory=list)

    @property
    def whole(self) -> bool:
        """Whether no part is missing."""
        return len(self.parts) == self.bundle[2]

    @property
    def ids(self) -> list[int]:
        """The daemon's numbers of all its rows, twins too."""
        return [row.id for row in self.rows]

    @property
    def first(self) -> Row:
        """The part that stands first, of those that came."""
        return self.parts[min(self.parts)]

    def takes(self, row: Row, number: int) -> bool:
        """Whether the part belongs here: its place is free, or it is there already."""
        there = self.parts.get(number)
        if there is not None and _content(there) != _content(row):
            return False
        if there is None:
            self.parts[number] = row
        self.rows.append(row)
        return True

    def text(self) -> str:
        """The words of all parts that came, in order."""
        return "".join(_decoded(self.parts[number]) for number in sorted(self.parts))

    def fault(self) -> str:
        """Why the text cannot be trusted, or ""."""
        headers = [header(row.udh) for row in self.parts.values()]
        if any(row.coding == BINARY for row in self.parts.values()):
            return NO_TEXT
        if any(one.to_port for one in headers):
            return NO_TEXT
        if any(one.shifted for one in headers):
            return SHIFT_TABLE
        return "" if self.whole else PART_MISSING

    def outside_id(self) -> str:
        """An id that follows from the content, so that a message saved twice has one."""
        content = [_content(self.parts[number]) for number in sorted(self.parts)]
        return hashlib.sha256(json.dumps(content).encode()).hexdigest()[:32]

    def raw(self) -> str:
        """All that came, as JSON."""
        return json.dumps(
            [
                {"text": row.text_hex, "udh": row.udh, "coding": row.coding}
                for _, row in sorted(self.parts.items())
            ]
        )


def assembled(rows: Sequence[Row]) -> list[Message]:
    """The messages the rows make, in the order of their first rows; some may lack parts.

    Two messages of one sender may bear the same reference (a phone counts to 255): a part whose
    place is taken by another begins a new message.
    """
    made: list[Message] = []
    for row in rows:
        part = header(row.udh)
        bundle = (row.sender, part.reference, part.total)
        if part.total > 1 and _added(made, bundle, row, part):
            continue
        message = Message(bundle)
        message.takes(row, part.number)
        made.append(message)
    return made


def _added(made: Sequence[Message], bundle: Bundle, row: Row, part: Header) -> bool:
    alike = (message for message in made if message.bundle == bundle)
    return any(message.takes(row, part.number) for message in alike)


def _content(row: Row) -> list[str]:
    return [row.sender, row.received.isoformat(), row.udh, row.text_hex]


def _decoded(row: Row) -> str:
    """The words of a part; half a surrogate pair, from a phone that splits them, shows as such."""
    try:
        octets = bytes.fromhex(row.text_hex)
    except ValueError:
        return ""
    return octets.decode("utf-16-be", "replace")


def overdue(
    messages: Sequence[Message], since: Mapping[Bundle, float], now_s: float, wait_s: float
) -> list[Message]:
    """The messages that lack a part and have waited long enough for it."""
    return [
        message
        for message in messages
        if not message.whole and now_s - since.get(message.bundle, now_s) >= wait_s
    ]
