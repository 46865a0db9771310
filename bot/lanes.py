"""Rows that were claimed for one channel, side by side: those to one address in their order."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from contextlib import suppress
from itertools import islice
from queue import Empty, SimpleQueue
from typing import Any

from sqlalchemy import Row

from bot.messages import Became, Outcome

Sent = tuple["Row[Any]", Outcome]
GATHER_S = 0.002
"""How long one end waits for the next that comes with it, to be written in the same commit."""
LOOK_S = 0.005
"""How long nothing is heard of an end before one is looked for, and more threads help where there
is none: where sends are quick, one thread is the fastest."""
LOOKS = 50
"""After so many looks for an end, a quarter of a second, what is under way counts as stuck."""


class Lanes:
    """One lane an address. `at_once` sends `by` may be under way; without `pool` it is one.

    A thread of the pool takes row after row for as long as the lanes are there, and more join it
    only where it falls behind: threads woken for a send that is over at once cost more than it.
    """

    def __init__(
        self,
        by: Callable[[Row[Any]], Outcome],
        at_once: int,
        pool: Executor | None,
    ) -> None:
        self._lanes: dict[str, deque[Row[Any]]] = {}
        self._flying: set[str] = set()
        """Addresses to which one is under way."""
        self._by = by
        self._at_once = at_once if pool else 1
        self._pool = pool
        self._threads = 0
        self._begun: SimpleQueue[Row[Any] | None] = SimpleQueue()
        self._over: deque[Sent] = deque()
        self._heard: SimpleQueue[None] = SimpleQueue()
        """A thread tells of its ends when nothing more is to be begun: each waking costs more than
        a quick send. Ends that a stuck send keeps it from telling are found by looking."""

    def __bool__(self) -> bool:
        """Whether something is left to be sent, or under way."""
        return bool(self._lanes or self._flying)

    def busy(self) -> set[str]:
        """Addresses to which something is under way or waits for its turn here."""
        return self._flying | self._lanes.keys()

    def add(self, rows: Sequence[Row[Any]]) -> None:
        """More to be sent, each behind what is there for its address."""
        for row in rows:
            self._lanes.setdefault(row.address, deque()).append(row)

    def free(self) -> int:
        """How many more may be under way beside those that are."""
        return self._at_once - len(self._flying)

    def is_stuck(self, ended: Sequence[Sent]) -> bool:
        """Whether an end was waited for, for nothing else could go, and none came."""
        return bool(self) and not ended and not self.heads()

    def heads(self) -> list[Row[Any]]:
        """The first of each lane with nothing under way, as many as may go now."""
        first = (lane[0] for address, lane in self._lanes.items() if address not in self._flying)
        return list(islice(first, self.free()))

    def send(self, looked: Sequence[Row[Any]], going: Sequence[Row[Any]]) -> list[Sent]:
        """Take what was looked at out of its lanes and send what goes; what has ended by now.

        Waits for an end only where nothing else could be looked at meanwhile, and not for ever:
        what came since need not wait for one that is stuck.

        Raises:
            RuntimeError: the pool takes no more.
        """
        to_go = {row.id for row in going}
        for row in looked:
            if row.id not in to_go:
                self._leave(row)
        if self._pool is None:
            return [(row, self._by(self._leave(row))) for row in going]
        if going and not self._threads:
            self._hire(1)
        for row in going:
            self._flying.add(row.address)
            self._begun.put(self._leave(row))
        return self._ended(wait=not self.heads())

    def landed(self) -> list[Sent]:
        """What all that is under way came to, once it has ended."""
        found = []
        while self._flying:
            found += self._ended(wait=True)
        return found

    def left(self) -> list[Row[Any]]:
        """What was not begun."""
        return [row for lane in self._lanes.values() for row in lane]

    def let_go(self) -> None:
        """Give the pool's threads back; nothing may be under way."""
        for _ in range(self._threads):
            self._begun.put(None)
        self._threads = 0

    def _leave(self, row: Row[Any]) -> Row[Any]:
        lane = self._lanes[row.address]
        lane.popleft()
        if not lane:
            del self._lanes[row.address]
        return row

    def _hire(self, more: int) -> None:
        if self._pool is not None:
            for _ in range(more):
                self._pool.submit(self._work)
                self._threads += 1

    def _more(self) -> None:
        """Twice as many threads, as far as there is something for each to do."""
        with suppress(RuntimeError):  # the pool takes no more: those that are there do the rest
            self._hire(min(self._threads, len(self._flying) - self._threads))

    def _work(self) -> None:
        while (row := self._begun.get()) is not None:
            self._over.append((row, self._outcome(row)))
            if self._begun.empty():
                self._heard.put(None)

    def _outcome(self, row: Row[Any]) -> Outcome:
        try:
            return self._by(row)
        except BaseException as fault:  # noqa: BLE001 - unsaid, its end would be waited for
            return Outcome(Became.UNKNOWN, type(fault).__name__)

    def _ended(self, *, wait: bool) -> list[Sent]:
        found = self._found()
        looks = 0
        while wait and self._flying and looks < LOOKS:
            try:
                self._heard.get(timeout=GATHER_S if found else LOOK_S)
            except Empty:
                if found:
                    break
                found += self._found()
                if not found:
                    self._more()
                    looks += 1
            found += self._found()
        return found

    def _found(self) -> list[Sent]:
        found = []
        while self._over:
            found.append(self._over.popleft())
        self._flying.difference_update(row.address for row, _ in found)
        return found
