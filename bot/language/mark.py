"""One value in a message, where it stands and what it may be."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Mark:
    """A value at words `start` to `end` (end exclusive), with every type it can pass for."""

    types: tuple[str, ...]
    value: Any
    start: int
    end: int

    def overlaps(self, other: Mark) -> bool:
        """Whether the two share a word."""
        return self.start < other.end and other.start < self.end
