"""Conversation files: read, played on a terminal of their own, compared word for word.

A file reads like a chat:

    # what it shows
    @ 2026-03-02 07:00            the clock is here (the first one starts it)
    > leaf spray 3 tanks          a line somebody types (`> @asha stirred`: another member)
    < 4 L culture + 12 L water    what the bot says, line for line

Options for the file: `#! zone Africa/Nairobi`, `#! language hi`, `#! forgeable yes` (a channel
where anybody can write under another's address). Codes are drawn by chance: `{code}` stands for
the group's code that was said last, `{number}` for the number to confirm with.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from bot.assembly import House, assemble
from bot.channels.terminal import Terminal
from bot.chat import Chat, ChatClock
from bot.clock import instant
from bot.craft.codes import DIGITS, LETTERS, SIGNS
from bot.messages import Incoming

DRAWN = {
    "{code}": re.compile(rf"\b[{LETTERS}][{DIGITS}][{SIGNS}]{{4}}\b"),
    "{number}": re.compile(r"(?<=send )\d{4}(?= within)"),
}


@dataclass
class Script:
    """A conversation file: its options and, turn by turn, what is typed."""

    options: dict[str, str] = field(default_factory=dict)
    turns: list[tuple[int, str]] = field(default_factory=list)


@dataclass
class Stage:
    """One conversation under way."""

    house: House
    chat: Chat
    said: list[str]
    drawn: dict[str, str] = field(default_factory=dict)

    def turn(self, line: str) -> list[str]:
        """What is said after one line, line by line, with a mark for what chance drew."""
        self.said.clear()
        for mark, last in self.drawn.items():
            line = line.replace(mark, last)
        self.chat.line(line)
        return [self._marked(each) for text in self.said for each in text.split("\n")]

    def _marked(self, line: str) -> str:
        for mark, pattern in DRAWN.items():
            for found in pattern.findall(line):
                self.drawn[mark] = found
            line = pattern.sub(mark, line)
            if mark in self.drawn:
                line = line.replace(self.drawn[mark], mark)
        return line


def read(path: Path) -> Script:
    script = Script()
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
        if line.startswith("#!"):
            name, _, value = line[2:].strip().partition(" ")
            script.options[name] = value
        elif line.startswith(">"):
            script.turns.append((number, line[1:].removeprefix(" ")))
        elif line.startswith("@"):
            script.turns.append((number, line))
        elif line and line[0] not in "<#":
            raise ValueError(f"{path.name}:{number}: a line begins with >, <, @ or #")
    return script


@contextmanager
def stage(folder: Path, options: dict[str, str], start: datetime) -> Iterator[Stage]:
    zone = options.get("zone", "UTC")
    clock = ChatClock(lambda: start, zone, moved=start)
    chance = random.Random(7)

    def newcomer(_incoming: Incoming) -> dict[str, str]:
        return {"zone": zone, "language": options.get("language", "")}

    house = assemble(
        f"sqlite:///{folder / 'chat.sqlite'}",
        now=clock.now,
        environ=(
            {"STIRBELL_TERMINAL_FORGEABLE": "true"} if options.get("forgeable") == "yes" else {}
        ),
        names=("terminal",),
        new_id=lambda: f"{chance.getrandbits(64):016x}",
        newcomer=newcomer,
    )
    terminal = house.channels["terminal"]
    assert isinstance(terminal, Terminal)
    said: list[str] = []
    try:
        yield Stage(house, Chat(house.engine, terminal, clock, said.append), said)
    finally:
        house.close()


def played(path: Path, folder: Path) -> list[str]:
    """The file as it comes out when played: the same text if all is well."""
    script = read(path)
    first = next(line[1:].strip() for _, line in script.turns if line.startswith("@ 2"))
    wall = datetime.fromisoformat(first)
    start = instant(wall.date(), wall.time(), script.options.get("zone", "UTC"))
    with stage(folder, script.options, start) as here:
        answers = {number: here.turn(line) for number, line in script.turns}
    told: list[str] = []
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
        if not line.startswith("<"):
            told += [line, *(f"< {each}" for each in answers.get(number, ()))]
    return told
