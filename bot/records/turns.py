"""One at a time, first come, first served: the writer of an SQLite file."""

from __future__ import annotations

import threading
from collections import deque


class Turns:
    """A lock that is handed to whoever waits longest.

    An ordinary lock goes to whoever asks at the right moment: a thread that lets go and asks again
    at once, as one that words a thousand reminders, would keep all others waiting to its end.
    """

    def __init__(self) -> None:
        self._guard = threading.Lock()
        self._waiting: deque[threading.Lock] = deque()
        self._held = False
        self._holder = 0

    def is_wanted(self) -> bool:
        """Whether somebody waits for the holder to come to an end."""
        return bool(self._waiting)

    def __enter__(self) -> None:
        """Wait for the turn.

        Raises:
            RuntimeError: this thread has it already, and would wait for itself.
        """
        me = threading.get_ident()
        with self._guard:
            if self._holder == me:
                raise RuntimeError("a transaction was begun inside another")
            if not self._held:
                self._held, self._holder = True, me
                return
            gate = threading.Lock()
            gate.acquire()
            self._waiting.append(gate)
        try:
            gate.acquire()
        except BaseException:
            self._leave(gate)
            raise
        self._holder = me

    def __exit__(self, *_fault: object) -> None:
        """Hand the turn on."""
        with self._guard:
            self._holder = 0
            if self._waiting:
                self._waiting.popleft().release()
            else:
                self._held = False

    def _leave(self, gate: threading.Lock) -> None:
        """Whoever was interrupted while waiting hands on what it may have been given."""
        with self._guard:
            given = gate not in self._waiting
            if not given:
                self._waiting.remove(gate)
        if given:
            self.__exit__()
