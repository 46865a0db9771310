"""The daemon's database: each method is one short transaction."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, time, timedelta
from typing import Any

from sqlalchemy import (
    ColumnElement,
    CursorResult,
    Engine,
    Select,
    create_engine,
    delete,
    exists,
    func,
    insert,
    make_url,
    select,
    update,
)

from bot.channels.modem.parcels import (
    DELIVERED,
    DELIVERY_FAILED,
    Done,
    Parcel,
    Queued,
    Row,
    SentRow,
    summed,
)
from bot.channels.modem.tables import INBOX, NEVER, OUTBOX, OUTBOX_PARTS, SENT, TOUCHED, VERSION

OPEN = "stirbell:"
"""Before our dedupe key in CreatorID."""

TOLD = "stirbell.told:"
"""The same, once what became of the message has been passed on."""

ALWAYS = (time(0, 0, 0), time(23, 59, 59))
HELD = (time(23, 59, 59), time(0, 0, 0))
"""The hours between which the daemon may send a row; reversed, it never does."""

LOCK_WAIT_S = 20
"""How long SQLite waits while the daemon writes."""


class Daemon:
    """The tables of one daemon, or of several that share a database."""

    def __init__(self, address: str, phone: str = "") -> None:
        url = make_url(address)
        sqlite = url.get_backend_name() == "sqlite"
        self._engine: Engine = create_engine(
            url,
            pool_pre_ping=not sqlite,
            connect_args={"timeout": LOCK_WAIT_S} if sqlite else {"connect_timeout": 10},
        )
        self._phone = phone
        self._writes_utc = not sqlite

    @property
    def writes_utc(self) -> bool:
        """Whether the daemon writes UTC (to PostgreSQL) or its local time (to SQLite)."""
        return self._writes_utc

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    def version(self) -> int:
        """The version of the daemon's tables."""
        with self._engine.connect() as base:
            return int(base.scalar(select(VERSION.c.version)) or 0)

    # --- what came in -------------------------------------------------------------------------

    def unread(self, most: int) -> list[Row]:
        """The parts not yet processed, oldest first."""
        wanted: list[ColumnElement[bool]] = [INBOX.c.processed == False]  # noqa: E712 - SQL
        if self._phone:
            wanted.append(INBOX.c.phone == self._phone)
        columns = INBOX.c
        query = (
            select(
                columns.id,
                columns.sender,
                columns.received_at,
                columns.text,
                columns.coding,
                columns.udh,
                columns.kind,
            )
            .where(*wanted)
            .order_by(columns.id)
            .limit(most)
        )
        with self._engine.connect() as base:
            return [Row(*found) for found in base.execute(query)]

    def processed_twin(self, row: Row) -> bool:
        """Whether the same part was processed before: the daemon, killed, saves a part again."""
        columns = INBOX.c
        query = select(
            exists().where(
                columns.processed == True,  # noqa: E712 - SQL
                columns.sender == row.sender,
                columns.udh == row.udh,
                columns.text == row.text_hex,
                columns.received_at == row.received,
            )
        )
        with self._engine.connect() as base:
            return bool(base.scalar(query))

    def mark(self, ids: Iterable[int]) -> None:
        """Mark parts processed."""
        with self._engine.begin() as base:
            base.execute(update(INBOX).where(INBOX.c.id.in_(list(ids))).values(processed=True))

    # --- what goes out ------------------------------------------------------------------------

    def put(self, parcel: Parcel, at: datetime) -> int:
        """The daemon's number for a message, once it is queued."""
        (text, header), *others = parcel.parts
        send_after, send_before = ALWAYS
        with self._engine.begin() as base:
            queued = base.execute(
                insert(OUTBOX).values(
                    # The daemon compares these with its local time, whose zone may not be ours.
                    not_before=NEVER,
                    locked_until=NEVER,
                    inserted_at=at.astimezone(UTC).replace(tzinfo=None),
                    send_after=send_after,
                    send_before=send_before,
                    text=_hex(text),
                    number=parcel.number,
                    coding=parcel.coding,
                    udh=header,
                    several=bool(others),
                    validity=parcel.validity,
                    phone=self._phone or None,
                    creator=OPEN + parcel.key,
                )
            )
            assert queued.inserted_primary_key is not None  # noqa: S101 - the table has a key
            number_given = int(queued.inserted_primary_key[0])
            if others:
                base.execute(
                    insert(OUTBOX_PARTS),
                    [
                        {
                            "id": number_given,
                            "position": position,
                            "text": _hex(text),
                            "coding": parcel.coding,
                            "udh": header,
                        }
                        for position, (text, header) in enumerate(others, 2)
                    ],
                )
            return number_given

    def queued(self, key: str) -> Queued | None:
        """The message of this key that is still to be sent, the newest if there are several."""
        columns = OUTBOX.c
        query = (
            select(columns.id, columns.retries, columns.code, columns.send_before)
            .where(columns.creator == OPEN + key)
            .order_by(columns.id.desc())
            .limit(1)
        )
        with self._engine.connect() as base:
            found = base.execute(query).first()
        if found is None:
            return None
        return Queued(found.id, found.retries, found.code, found.send_before == HELD[1])

    def done(self, key: str) -> Done | None:
        """What became of the newest message of this key, if the daemon is done with it."""
        with self._engine.connect() as base:
            newest = base.scalar(
                select(func.max(SENT.c.id)).where(SENT.c.creator.in_([OPEN + key, TOLD + key]))
            )
            rows = [] if newest is None else _sent_rows(base.execute(_sent([newest])))
        return summed(rows) if rows else None

    def take_back(self, number: int) -> bool:
        """Whether the message could be taken back: the daemon never took it up."""
        with self._engine.begin() as base:
            gone = base.execute(
                delete(OUTBOX).where(OUTBOX.c.id == number, OUTBOX.c.locked_until == NEVER)
            )
            if gone.rowcount:
                base.execute(delete(OUTBOX_PARTS).where(OUTBOX_PARTS.c.id == number))
            return bool(gone.rowcount)

    def hold(self, number: int) -> None:
        """Keep a message from being taken up again; a try under way goes on."""
        self._change(number, send_after=HELD[0], send_before=HELD[1])

    def release(self, number: int) -> None:
        """Let a held message go again, now."""
        self._change(number, send_after=ALWAYS[0], send_before=ALWAYS[1], locked_until=TOUCHED)

    def _change(self, number: int, **values: time | datetime) -> None:
        with self._engine.begin() as base:
            base.execute(update(OUTBOX).where(OUTBOX.c.id == number).values(**values))

    # --- what became of it --------------------------------------------------------------------

    def news(self, most: int) -> list[Done]:
        """Messages whose end is known and not yet passed on, oldest first."""
        final = DELIVERY_FAILED | {DELIVERED}
        query = (
            select(SENT.c.id)
            .where(SENT.c.creator.startswith(OPEN), SENT.c.status.in_(final))
            .distinct()
            .order_by(SENT.c.id)
            .limit(most)
        )
        with self._engine.connect() as base:
            numbers = list(base.scalars(query))
            rows = _sent_rows(base.execute(_sent(numbers))) if numbers else []
        by_number: dict[int, list[SentRow]] = defaultdict(list)
        for row in rows:
            by_number[row.id].append(row)
        found = [summed(parts) for parts in by_number.values()]
        return [done for done in found if done.failed or done.delivered is not None]

    def told(self, number: int, key: str) -> None:
        """Mark that the end of this message has been passed on."""
        with self._engine.begin() as base:
            base.execute(update(SENT).where(SENT.c.id == number).values(creator=TOLD + key))

    def forget(self, before: datetime) -> None:
        """Delete what is done with and older: read parts, sent messages, rows left on hold."""
        limit = before.astimezone(UTC).replace(tzinfo=None)
        ours = SENT.c.creator.startswith(OPEN) | SENT.c.creator.startswith(TOLD)
        old = select(OUTBOX.c.id).where(
            OUTBOX.c.creator.startswith(OPEN),
            OUTBOX.c.send_before == HELD[1],
            OUTBOX.c.inserted_at < limit,
        )
        # Its column is local on PostgreSQL: a day more is surely past.
        read = (INBOX.c.processed == True) & (INBOX.c.updated_at < limit - timedelta(days=1))  # noqa: E712 - SQL
        with self._engine.begin() as base:
            base.execute(delete(INBOX).where(read))
        with self._engine.begin() as base:
            base.execute(delete(SENT).where(ours, SENT.c.inserted_at < limit))
        with self._engine.begin() as base:
            held = list(base.scalars(old))
            base.execute(delete(OUTBOX_PARTS).where(OUTBOX_PARTS.c.id.in_(held)))
            base.execute(delete(OUTBOX).where(OUTBOX.c.id.in_(held)))


def _hex(text: str) -> str:
    """A text as the daemon's `Text` column has it; its other column breaks on some locales."""
    return text.encode("utf-16-be").hex().upper()


def _sent(numbers: Sequence[int]) -> Select[Any]:
    columns = SENT.c
    return (
        select(
            columns.id,
            columns.creator,
            columns.status,
            columns.code,
            columns.error,
            columns.delivered_at,
        )
        .where(columns.id.in_(numbers))
        .order_by(columns.id, columns.position)
    )


def _sent_rows(found: CursorResult[Any]) -> list[SentRow]:
    return [
        SentRow(row.id, row.creator, row.status, row.code, row.error, row.delivered_at)
        for row in found
    ]
