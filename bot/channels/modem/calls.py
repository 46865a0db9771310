"""Missed calls: notes that the daemon's incoming-call hook leaves in a folder."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

NOTE = "*.call"

_NUMBER = re.compile(r"\+?\d{3,20}", re.ASCII)

LONGEST_NOTE = 64


@dataclass(frozen=True, slots=True)
class Call:
    """One call that rang and was hung up: who, when, and the note that tells of it."""

    number: str
    at: datetime
    note: Path


def calls(folder: Path) -> Iterator[Call]:
    """The calls noted and not yet taken, oldest first; a note that is no number is removed."""
    notes = sorted(folder.glob(NOTE), key=lambda note: (note.stat().st_mtime_ns, note.name))
    for note in notes:
        with note.open("rb") as text:
            number = text.read(LONGEST_NOTE).decode("ascii", "replace").strip()
        if _NUMBER.fullmatch(number):
            yield Call(number, datetime.fromtimestamp(note.stat().st_mtime, UTC), note)
        else:
            note.unlink(missing_ok=True)
