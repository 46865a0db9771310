"""The terminal conversation: typed or piped lines, a clock that can be moved, answers printed."""

from __future__ import annotations

import json
import re
import select
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, time, timedelta
from typing import TextIO
from zoneinfo import ZoneInfo

from bot.channels.terminal import Terminal
from bot.clock import instant
from bot.engine import Engine
from bot.messages import Outgoing
from bot.wording.segments import segments

YOU = "you"
_MOVE = re.compile(r"@\s+(?P<to>\S.*)")
_OTHER = re.compile(r"@(?P<who>[^\s:]{1,24}):?\s+(?P<text>.*)", re.DOTALL)
_STEP = re.compile(r"\+(?P<n>\d{1,4})(?P<unit>[dhm])")
_UNITS = {"d": "days", "h": "hours", "m": "minutes"}


class ChatError(Exception):
    """A line that moves the clock was not understood; the message says what would be."""


@dataclass(slots=True)
class ChatClock:
    """This chat's time: the machine's until it is moved, then only moved by lines.

    Each typed line takes a second, so that two lines never share a moment.
    """

    machine: Callable[[], datetime]
    zone: str = "UTC"
    moved: datetime | None = None

    def now(self) -> datetime:
        """The chat's moment, UTC."""
        return self.moved or self.machine()

    def tick(self) -> None:
        """A line was typed."""
        if self.moved is not None:
            self.moved += timedelta(seconds=1)

    def target(self, words: str) -> datetime:
        """Where `2026-03-02 07:00`, `07:00` (the next) or `+1d` leads.

        Raises:
            ChatError: none of these, or it lies in the past.
        """
        now = self.now()
        step = _STEP.fullmatch(words)
        try:
            if step:
                there = now + timedelta(**{_UNITS[step["unit"]]: int(step["n"])})
            elif len(words) <= len("07:00"):
                there = self._next(time.fromisoformat(words.zfill(5)), now)
            else:
                wanted = datetime.fromisoformat(words)
                there = instant(wanted.date(), wanted.time(), self.zone)
        except ValueError:
            raise ChatError(
                f"'{words}' is no time: send @ 2026-03-02 07:00, @ 07:00 or @ +1d"
            ) from None
        if there < now:
            raise ChatError("this chat's clock only goes forward: send a later time, or @ +1d")
        return there

    def _next(self, wall: time, now: datetime) -> datetime:
        today = now.astimezone(ZoneInfo(self.zone)).date()
        there = instant(today, wall, self.zone)
        return there if there > now else instant(today + timedelta(days=1), wall, self.zone)


@dataclass(slots=True)
class Chat:
    """One conversation: lines in, messages out through `show`."""

    engine: Engine
    terminal: Terminal
    clock: ChatClock
    show: Callable[[str], None]
    as_json: bool = False
    run: str = ""
    _lines: int = field(default=0)

    def __post_init__(self) -> None:
        """Answers of the terminal channel go to `show`."""
        self.terminal.printed = self._print

    def line(self, line: str) -> None:
        """Take one typed line, and everything that follows from it at once.

        Raises:
            ChatError: a line that moves the clock was not understood.
        """
        move = _MOVE.fullmatch(line.strip())
        if move:
            self.move(self.clock.target(move["to"].strip()))
            return
        other = _OTHER.fullmatch(line)
        who, text = (other["who"], other["text"]) if other else (YOU, line)
        self._lines += 1
        self.clock.tick()
        self.terminal.typed(
            who, text, f"{self.run}{self.clock.now():%Y%m%dT%H%M%S%f}-{self._lines}"
        )
        self.engine.step(self.clock.now())

    def move(self, there: datetime) -> None:
        """Go to a later moment from event to event, saying what falls due on the way."""
        if self.clock.moved is None:
            self.clock.moved = self.clock.machine()
        following = self.engine.step(self.clock.moved)
        while following is not None and following <= there:
            self.clock.moved = following
            following = self.engine.step(following)
        self.clock.moved = there
        self.engine.step(there)

    def _print(self, outgoing: Outgoing) -> None:
        if self.as_json:
            told = {
                "to": outgoing.address,
                "kind": outgoing.kind,
                "text": outgoing.text,
                "segments": segments(outgoing.text),
            }
            self.show(json.dumps(told, ensure_ascii=False))
            return
        stamp = ""
        if outgoing.kind != "reply":
            local = self.clock.now().astimezone(ZoneInfo(self.clock.zone))
            stamp = f"[{local:%a %d %b %H:%M}] "
        whom = "" if outgoing.address == YOU else f"@{outgoing.address} "
        first, *others = outgoing.text.split("\n")
        self.show("\n".join([f"{stamp}{whom}{first}", *others]))


def typed_lines(
    source: TextIO, prompt: Callable[[], None], idle: Callable[[], float | None]
) -> Iterator[str]:
    """Lines as they are typed; between them `idle` lets time do its work.

    `idle` says how many seconds it may wait at most before it wants to be called again.
    """
    while True:
        prompt()
        while True:
            ready, _, _ = select.select([source], [], [], idle())
            if ready:
                break
        line = source.readline()
        if not line:
            return
        yield line.rstrip("\n")


def piped_lines(source: Iterable[str]) -> Iterator[str]:
    """Lines of a script, one message each; `#` begins a remark."""
    for line in source:
        text = line.rstrip("\n")
        if text and not text.startswith("#"):
            yield text


def seconds_until(moment: datetime | None, now: datetime) -> float | None:
    """How long to wait for a moment; None waits for ever."""
    if moment is None:
        return None
    return max(0.0, (moment - now.astimezone(UTC)).total_seconds())
