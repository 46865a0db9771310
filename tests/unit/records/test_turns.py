"""The one writer of an SQLite file: whoever waits longest is next."""

from __future__ import annotations

import threading

import pytest

from bot.records.turns import Turns


def started(work: object) -> threading.Thread:
    assert callable(work)
    thread = threading.Thread(target=work, daemon=True)
    thread.start()
    return thread


def test_who_lets_go_and_asks_again_does_not_pass_those_who_wait() -> None:
    turns, order = Turns(), []
    waits = []

    def work(name: str) -> None:
        with turns:
            order.append(name)

    turns.__enter__()
    assert not turns.is_wanted()
    for number, name in enumerate(("first", "second"), start=1):
        waits.append(started(lambda name=name: work(name)))
        while len(turns._waiting) < number:
            pass
    assert turns.is_wanted()
    turns.__exit__()
    work("again")
    for each in waits:
        each.join(timeout=10)
    assert order == ["first", "second", "again"]
    assert not turns.is_wanted()


def test_a_transaction_inside_another_is_an_error_and_not_a_wait_for_ever() -> None:
    turns = Turns()
    with turns, pytest.raises(RuntimeError, match="inside another"), turns:
        pass
    with turns:
        assert not turns.is_wanted()


def test_many_threads_take_turns_and_none_is_forgotten() -> None:
    turns, counted = Turns(), [0]

    def work() -> None:
        for _ in range(200):
            with turns:
                counted[0] += 1

    threads = [started(work) for _ in range(8)]
    for each in threads:
        each.join(timeout=30)
    assert counted == [1600]


def test_a_turn_given_to_somebody_who_was_interrupted_is_handed_on(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    turns = Turns()
    turns.__enter__()
    seen: list[str] = []
    real = threading.Lock

    class Interrupted:
        def __init__(self) -> None:
            self.asked = 0

        def acquire(self) -> None:
            self.asked += 1
            if self.asked == 2:
                raise KeyboardInterrupt

        def release(self) -> None:
            return

    def work() -> None:
        monkeypatch.setattr(threading, "Lock", Interrupted)
        try:
            turns.__enter__()
        except KeyboardInterrupt:
            seen.append("interrupted")
        finally:
            monkeypatch.setattr(threading, "Lock", real)

    thread = started(work)
    thread.join(timeout=10)
    assert seen == ["interrupted"]
    assert not turns.is_wanted()
    turns.__exit__()
    with turns:
        seen.append("free")
    assert seen == ["interrupted", "free"]
