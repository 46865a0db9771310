"""Wetted seed lying in shade: until when, folded from the record.

Entries: `wetted` (the seed was wetted; `crop`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from bot.craft.entries import Entry, Head
from bot.craft.seed import out_of_shade_at

SUBJECT = "shade"


@dataclass(frozen=True, slots=True)
class Shade:
    """One lot of wetted seed: when it was wetted, from when it may be sown."""

    id: str
    crop: str
    wetted_at: datetime

    @property
    def sow_at(self) -> datetime:
        """The instant from which the seed may be sown."""
        return out_of_shade_at(self.wetted_at)


def fold(head: Head, entries: Sequence[Entry]) -> Shade:
    """The lot as its entries tell it; the last wetting counts."""
    last = entries[-1] if entries else Entry("wetted", head.opened_at)
    return Shade(head.id, last.text("crop"), last.at)
