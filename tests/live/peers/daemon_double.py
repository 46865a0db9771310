"""A stand-in for the modem's daemon, on its own tables: quick enough for every test run.

What it does was read off the real one (tests/live/test_modem_daemon.py runs the same channel on
that): it locks a row, stores what became of each part, then takes the row off its queue.
"""

from __future__ import annotations

import sqlite3
import threading
from pathlib import Path

SCHEMA = """
create table gammu (Version integer primary key);
insert into gammu values (17);
create table inbox (
    UpdatedInDB numeric not null default (datetime('now')),
    ReceivingDateTime numeric not null default (datetime('now')),
    Text text not null, SenderNumber text not null default '',
    Coding text not null default 'Default_No_Compression', UDH text not null,
    Class integer not null default '-1', TextDecoded text not null default '',
    ID integer primary key autoincrement, RecipientID text not null,
    Processed text not null default 'false', Status integer not null default '-1');
create table outbox (
    InsertIntoDB numeric not null default (datetime('now')),
    SendingDateTime numeric not null default (datetime('now')),
    SendBefore time not null default '23:59:59', SendAfter time not null default '00:00:00',
    Text text, DestinationNumber text not null default '',
    Coding text not null default 'Default_No_Compression', UDH text,
    TextDecoded text not null default '', ID integer primary key autoincrement,
    MultiPart text not null default 'false', RelativeValidity integer default '-1', SenderID text,
    SendingTimeOut numeric not null default (datetime('now')), CreatorID text not null,
    Retries integer default '0', Status text not null default 'Reserved',
    StatusCode integer not null default '-1');
create table outbox_multipart (
    Text text, Coding text not null default 'Default_No_Compression', UDH text,
    TextDecoded text default null, ID integer, SequencePosition integer not null default '1',
    primary key (ID, SequencePosition));
create table sentitems (
    InsertIntoDB numeric not null default (datetime('now')), DeliveryDateTime numeric null,
    Text text not null, DestinationNumber text not null default '', ID integer,
    SequencePosition integer not null default '1', Status text not null default 'SendingOK',
    StatusError integer not null default '-1', CreatorID text not null,
    RelativeValidity integer not null default '-1', StatusCode integer not null default '-1',
    primary key (ID, SequencePosition));
"""


class DaemonDouble:
    """A daemon whose next sends go as `code` says: None sends, a number fails with it."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.code: int | None = None
        self.works = True
        self.stalls = False
        self.sent: list[tuple[str, str]] = []
        self._base = sqlite3.connect(
            path, check_same_thread=False, isolation_level=None, timeout=20
        )
        self._base.execute("pragma synchronous = off")
        self._base.executescript(SCHEMA)
        self._lock = threading.RLock()
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    @property
    def address(self) -> str:
        return f"sqlite:///{self.path}"

    def query(self, what: str, *values: object) -> list[tuple[object, ...]]:
        with self._lock:
            return self._base.execute(what, values).fetchall()

    def receive(
        self,
        sender: str,
        text: str,
        *,
        udh: str = "",
        at: str = "2026-03-02 07:00:00",
        coding: str = "Unicode_No_Compression",
        text_hex: str | None = None,
        kind: int = -1,
    ) -> None:
        written = text.encode("utf-16-be").hex().upper() if text_hex is None else text_hex
        self.query(
            "insert into inbox (ReceivingDateTime, Text, SenderNumber, Coding, UDH, Class,"
            " RecipientID) values (?, ?, ?, ?, ?, ?, 'phone1')",
            at,
            written,
            sender,
            coding,
            udh,
            kind,
        )

    def repeat(self) -> None:
        """The daemon, killed between saving and deleting, saves the last part once more."""
        self.query(
            "insert into inbox (ReceivingDateTime, Text, SenderNumber, Coding, UDH, RecipientID)"
            " select ReceivingDateTime, Text, SenderNumber, Coding, UDH, RecipientID"
            " from inbox order by ID desc limit 1"
        )

    def processed(self) -> int:
        [(count,)] = self.query("select count(*) from inbox where Processed = 'true'")
        assert isinstance(count, int)
        return count

    def report(self, status: str, error: int = 0) -> None:
        """Reports arrive for all that is sent."""
        self.query("update sentitems set Status = ?, StatusError = ?", status, error)

    def close(self) -> None:
        self._stop.set()
        self._thread.join()
        self._base.close()

    def _run(self) -> None:
        while not self._stop.wait(0.01):
            if self.works:
                with self._lock:
                    self._send_one()

    def _send_one(self) -> None:
        row = self._base.execute(
            "select ID, DestinationNumber, Text, CreatorID, RelativeValidity from outbox"
            " where SendingTimeOut < datetime('now', 'localtime')"
            " and SendAfter <= time('now', 'localtime') and SendBefore >= time('now', 'localtime')"
            " order by ID limit 1"
        ).fetchone()
        if row is None:
            return
        number, to, *_ = row
        self._base.execute(
            "update outbox set SendingTimeOut = datetime('now', 'localtime', '+1 minute')"
            " where ID = ?",
            (number,),
        )
        if self.stalls:
            return
        parts = [row[2]] + [
            text
            for (text,) in self._base.execute(
                "select Text from outbox_multipart where ID = ? order by SequencePosition",
                (number,),
            )
        ]
        status = "SendingOK" if self.code is None else "SendingError"
        for position, text in enumerate(parts, 1):
            self._base.execute(
                "insert into sentitems (Text, DestinationNumber, ID, SequencePosition, Status,"
                " CreatorID, RelativeValidity, StatusCode) values (?, ?, ?, ?, ?, ?, ?, ?)",
                (text, to, number, position, status, row[3], row[4], self.code or -1),
            )
        if self.code is None:
            written = bytes.fromhex("".join(parts)).decode("utf-16-be")
            self.sent.append((to, written))
        self._base.execute("delete from outbox where ID = ?", (number,))
        self._base.execute("delete from outbox_multipart where ID = ?", (number,))
