"""A door on the smallest durable inbox there can be: what a channel alone is tested against."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock

from bot.messages import Incoming, Receipt


@dataclass
class SqliteDoor:
    """Keeps what it is handed in one file. `refuses` may raise in place of keeping."""

    path: Path
    refuses: Callable[[Incoming], None] | None = None
    before: Callable[[], None] | None = None
    tried: int = 0
    arrived: list[Incoming] = field(default_factory=list)
    known_keys: set[str] = field(default_factory=set)
    _turn: Lock = field(default_factory=Lock)

    def __post_init__(self) -> None:
        self._base = sqlite3.connect(self.path, check_same_thread=False, isolation_level=None)
        self._base.execute("PRAGMA journal_mode=WAL")
        self._base.executescript(
            """
            create table if not exists inbox (
                id integer primary key, channel text, outside_id text, address text, text text,
                fault text, unique (channel, outside_id));
            create table if not exists receipts (outside_id text, delivered integer, cause text);
            create table if not exists moves (address text, new_address text);
            create table if not exists kept (channel text, name text, value text,
                primary key (channel, name));
            """
        )

    def accept(self, incoming: Incoming) -> bool:
        with self._turn:
            self.tried += 1
            if self.refuses is not None:
                self.refuses(incoming)
            if self.before is not None:
                self.before()
            done = self._base.execute(
                "insert into inbox (channel, outside_id, address, text, fault)"
                " values (?, ?, ?, ?, ?) on conflict do nothing",
                (
                    incoming.channel,
                    incoming.outside_id,
                    incoming.address,
                    incoming.text,
                    incoming.fault,
                ),
            )
            if done.rowcount:
                self.arrived.append(incoming)
            return bool(done.rowcount)

    def receipt(self, receipt: Receipt) -> None:
        with self._turn:
            self._base.execute(
                "insert into receipts values (?, ?, ?)",
                (receipt.outside_id, receipt.delivered, receipt.cause),
            )

    def moved(self, channel: str, address: str, new_address: str) -> None:
        del channel
        with self._turn:
            self._base.execute("insert into moves values (?, ?)", (address, new_address))

    def recall(self, channel: str, name: str) -> str:
        with self._turn:
            row = self._base.execute(
                "select value from kept where channel = ? and name = ?", (channel, name)
            ).fetchone()
        return str(row[0]) if row else ""

    def keep(self, channel: str, name: str, value: str) -> None:
        with self._turn:
            self._base.execute(
                "insert or replace into kept values (?, ?, ?)", (channel, name, value)
            )

    def found(self, channel: str, key: str) -> bool:
        del channel
        return key in self.known_keys

    def rows(self, what: str) -> list[tuple[object, ...]]:
        """Rows of a query, for looking inside."""
        with self._turn:
            return self._base.execute(what).fetchall()

    def texts(self) -> list[str]:
        """Every text in the order in which it was kept."""
        return [str(row[0]) for row in self.rows("select text from inbox order by id")]

    def close(self) -> None:
        with self._turn:
            self._base.close()
