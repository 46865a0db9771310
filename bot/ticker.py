"""The APScheduler jobs of a running bot: a handful for ever, none for a batch or a reminder."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from concurrent import futures
from contextlib import suppress
from datetime import timedelta

from apscheduler.executors.pool import ThreadPoolExecutor
from apscheduler.jobstores.base import JobLookupError
from apscheduler.schedulers.background import BackgroundScheduler

from bot.clock import system_now
from bot.records.store import is_passing

log = logging.getLogger(__name__)

MOST_JOBS = 40
JUMP_S = 2.0
"""The wall clock was set when it differs by so much from the steady one within a second."""


class Ticker:
    """Runs named pieces of work every so often, each on its own thread, and at once when woken.

    A piece of work never runs twice at a time; woken while it runs, it runs once more.
    """

    def __init__(self, elapsed_s: Callable[[], float]) -> None:
        self._elapsed_s = elapsed_s
        # What matters is that a tick comes; a late one is as good, and many late ones are one.
        defaults = {"misfire_grace_time": None, "coalesce": True, "max_instances": 1}
        self._threads = ThreadPoolExecutor(MOST_JOBS)
        self._scheduler = BackgroundScheduler(
            timezone="UTC", job_defaults=defaults, executors={"default": self._threads}
        )
        # Woken work does not go through the scheduler: its thread and its lock lie between a due
        # reminder and its send.
        self._woken = futures.ThreadPoolExecutor(MOST_JOBS, "woken")
        self._work: dict[str, Callable[[], None]] = {}
        self._wanted: dict[str, threading.Event] = {}
        self._at_work: dict[str, threading.Lock] = {}
        self._seconds: dict[str, float] = {}
        self._lead_s: float | None = None
        # A tick that finds the one before still at work is no news.
        logging.getLogger("apscheduler").setLevel(logging.ERROR)

    def start(self) -> None:
        """Begin to tick."""
        self._scheduler.start()

    def every(self, seconds: float, name: str, work: Callable[[], None]) -> None:
        """Run a piece of work now, and then every so many seconds."""
        # What was run under this name before may still be under way.
        self._wanted.setdefault(name, threading.Event())
        self._at_work.setdefault(name, threading.Lock())
        self._seconds[name], self._work[name] = seconds, work
        self._scheduler.add_job(
            self._run,
            "interval",
            args=[name],
            seconds=seconds,
            id=name,
            next_run_time=system_now(),
            replace_existing=True,
        )

    def no_more(self, name: str) -> None:
        """Run it no more; a run under way comes to its end."""
        self._work.pop(name, None)
        try:
            self._scheduler.remove_job(name)
        except JobLookupError:
            return

    def wake(self, name: str) -> bool:
        """Run it at once; whether it was at rest until now."""
        if name not in self._work or self._wanted[name].is_set():
            return False
        self._wanted[name].set()
        with suppress(RuntimeError):  # it is the end: nothing is begun any more
            self._woken.submit(self._run, name)
        return not self._at_work[name].locked()

    def within(self, name: str, seconds: float) -> None:
        """Run it in so many seconds, where its next tick would come later."""
        if seconds >= self._seconds.get(name, 0.0):
            return
        with suppress(JobLookupError):
            self._scheduler.modify_job(
                name, next_run_time=system_now() + timedelta(seconds=seconds)
            )

    def look_at_the_clock(self) -> timedelta:
        """Set every job right where the wall clock was set; by how much it was.

        APScheduler waits for moments of the wall clock: set back an hour, it would sleep an hour.
        """
        lead_s = system_now().timestamp() - self._elapsed_s()
        jumped_s = 0.0 if self._lead_s is None else lead_s - self._lead_s
        self._lead_s = lead_s
        if abs(jumped_s) < JUMP_S:
            return timedelta()
        log.warning("the clock of this machine was set by %.0f s", jumped_s)
        for job in self._scheduler.get_jobs():
            job.modify(next_run_time=system_now())
        return timedelta(seconds=jumped_s)

    def stop(self) -> None:
        """Tick no more, and wait for what runs."""
        if self._scheduler.running:
            # Its own shutdown(wait=True) holds its lock while it waits: work that wakes other work
            # at that moment would wait for the lock, and both for ever.
            self._scheduler.shutdown(wait=False)
            self._threads.shutdown(wait=True)
        self._woken.shutdown(wait=True)

    def _run(self, name: str) -> None:
        """Run it now, or once more after the run under way: whoever ends looks who came since."""
        wanted, at_work = self._wanted[name], self._at_work[name]
        wanted.set()
        while wanted.is_set() and (work := self._work.get(name)) is not None:
            if not at_work.acquire(blocking=False):
                return
            try:
                wanted.clear()
                self._do(name, work)
            finally:
                at_work.release()

    def _do(self, name: str, work: Callable[[], None]) -> None:
        try:
            work()
        except Exception as fault:
            if is_passing(fault):
                log.warning("%s: the database is away or full (%s)", name, type(fault).__name__)
            else:
                log.exception("%s failed", name)
