"""Rows that were claimed for one channel, side by side: those to one address in their order."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from typing import Any

from sqlalchemy import Row

from bot.messages import Outcome

Sent = tuple["Row[Any]", Outcome]
GATHER_S = 0.002
"""How long one end waits for others that come with it, to be written in the same commit."""


class Lanes:
    """One lane an address. `at_once` sends may be under way; without `pool` it is one."""

    def __init__(self, rows: Sequence[Row[Any]], at_once: int, pool: Executor | None) -> None:
        self._lanes: dict[str, deque[Row[Any]]] = {}
        for row in rows:
            self._lanes.setdefault(row.address, deque()).append(row)
        self._at_once = at_once if pool else 1
        self._pool = pool
        self._flying: dict[Future[Outcome], Row[Any]] = {}

    def __bool__(self) -> bool:
        """Whether something is left to be sent, or under way."""
        return bool(self._lanes or self._flying)

    def heads(self) -> list[Row[Any]]:
        """The first of each lane with nothing under way, as many as may go now."""
        busy = {row.address for row in self._flying.values()}
        free = (lane[0] for address, lane in self._lanes.items() if address not in busy)
        return [row for row, _ in zip(free, range(self._at_once - len(self._flying)), strict=False)]

    def send(
        self,
        looked: Sequence[Row[Any]],
        going: Sequence[Row[Any]],
        by: Callable[[Row[Any]], Outcome],
    ) -> list[Sent]:
        """Take what was looked at out of its lanes and send what goes; what has ended by now.

        Waits for an end only where nothing else could be looked at meanwhile.
        """
        to_go = {row.id for row in going}
        for row in looked:
            if row.id not in to_go:
                self._leave(row)
        if self._pool is None:
            return [(row, by(self._leave(row))) for row in going]
        for row in going:
            self._flying[self._pool.submit(by, row)] = row
            self._leave(row)
        if self._flying and not self.heads():
            wait(self._flying, return_when=FIRST_COMPLETED)
            wait(self._flying, timeout=GATHER_S)
        return self._ended()

    def landed(self) -> list[Sent]:
        """What all that is under way came to, once it has ended."""
        wait(self._flying)
        return self._ended()

    def left(self) -> list[Row[Any]]:
        """What was not begun."""
        return [row for lane in self._lanes.values() for row in lane]

    def _leave(self, row: Row[Any]) -> Row[Any]:
        lane = self._lanes[row.address]
        lane.popleft()
        if not lane:
            del self._lanes[row.address]
        return row

    def _ended(self) -> list[Sent]:
        done = [future for future in self._flying if future.done()]
        return [(self._flying.pop(future), future.result()) for future in done]
