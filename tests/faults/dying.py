"""A process that dies at a statement or a commit; a commit that is done and not heard of."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Connection, event
from sqlalchemy.exc import OperationalError

from bot.records.store import Store


class Crash(BaseException):
    """The process dies here: nothing catches it."""


@contextmanager
def dies_at(store: Store, statement: int) -> Iterator[None]:
    """The statement of this number is never run; 0 is the commit."""
    left = [statement]

    def count(*_given: object) -> None:
        left[0] -= 1
        if left[0] == 0:
            raise Crash

    def commit(_connection: Connection) -> None:
        if statement == 0:
            raise Crash

    event.listen(store.engine, "before_cursor_execute", count)
    event.listen(store.engine, "commit", commit)
    try:
        yield
    finally:
        event.remove(store.engine, "before_cursor_execute", count)
        event.remove(store.engine, "commit", commit)


@contextmanager
def loses_the_answer_of_a_commit(store: Store, number: int) -> Iterator[None]:
    """The commit of this number is done, and the line drops before its answer comes."""
    left = [number]
    begin = store.begin

    @contextmanager
    def losing() -> Iterator[Connection]:
        with begin() as tx:
            yield tx
        left[0] -= 1
        if left[0] == 0:
            raise OperationalError("COMMIT", None, Exception("connection lost"))

    store.begin = losing  # type: ignore[method-assign]
    try:
        yield
    finally:
        store.begin = begin  # type: ignore[method-assign]
