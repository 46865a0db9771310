"""Plays the demo's script on a chat, message by message, until the season stands as of a moment."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import datetime, time, timedelta
from importlib.resources import files
from typing import Protocol
from zoneinfo import ZoneInfo

from bot.clock import instant

SCRIPT = "season.chat"
DAYS = 40
"""How long before the moment the season begins: the script moves so far."""
BEGINS = time(8)
_CODE = re.compile(r"\b(?=\w*\d)[A-Z0-9]{5,6}\b")
"""An invitation as the bot says it; `{code}` in the script is the newest one."""


class Played(Protocol):
    """A chat that takes lines."""

    def line(self, line: str) -> None:
        """Take one typed line."""
        ...


def begins_at(until: datetime, zone: str) -> datetime:
    """The moment at which the season begins so that it stands as of `until`."""
    day = until.astimezone(ZoneInfo(zone)).date() - timedelta(days=DAYS)
    return instant(day, BEGINS, zone)


def lines() -> Iterator[str]:
    """The messages of the script and its moves of the clock; remarks and blank lines left out."""
    text = files("bot.demo").joinpath(SCRIPT).read_text(encoding="utf-8")
    for line in text.splitlines():
        if line.strip() and not line.startswith("#"):
            yield line


def play(chat: Played, said: Callable[[], list[str]]) -> int:
    """Play the script; how many messages it were. `said` gives what the bot said so far."""
    number = 0
    for line in lines():
        codes = _CODE.findall("\n".join(said()))
        chat.line(line.replace("{code}", codes[-1] if codes else ""))
        number += not line.startswith("@ ")
    return number


def introduction() -> str:
    """What is told to whoever opens the demo: the remarks at the head of the script."""
    text = files("bot.demo").joinpath(SCRIPT).read_text(encoding="utf-8")
    head: list[str] = []
    for line in text.splitlines():
        if not line.startswith("#"):
            break
        head.append(line.removeprefix("#").strip())
    return "\n".join(head)
