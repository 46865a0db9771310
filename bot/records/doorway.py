"""The door every channel is handed: what came in is committed before the call returns."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import select

from bot.messages import Incoming, Receipt
from bot.records import addresses, inbox, outbox, receipts
from bot.records.store import Store
from bot.records.tables import kept
from bot.records.upserting import upsert


@dataclass(frozen=True, slots=True)
class Doorway:
    """The inbox, receipts, moved addresses and a channel's small memory, on one store."""

    store: Store
    now: Callable[[], datetime]
    waken: list[Callable[[], None]] = field(default_factory=list)
    """Called when a message was kept, so that nobody waits for the next tick."""

    def accept(self, incoming: Incoming) -> bool:
        """Keep the message under its (channel, outside id); False: it was there already."""
        new = inbox.keep(self.store, incoming, self.now())
        if new:
            for wake in self.waken:
                wake()
        return new

    def receipt(self, receipt: Receipt) -> None:
        """Keep a later word on a message sent before."""
        with self.store.begin() as tx:
            receipts.receive(
                tx, receipt.channel, receipt.outside_id, receipt.delivered, receipt.cause
            )

    def moved(self, channel: str, address: str, new_address: str) -> None:
        """Rewrite an address that the network replaced."""
        with self.store.begin() as tx:
            addresses.moved(tx, channel, address, new_address)

    def recall(self, channel: str, name: str) -> str:
        """A short value this channel kept; empty if none."""
        with self.store.begin() as tx:
            found = tx.execute(
                select(kept.c.value).where(kept.c.channel == channel, kept.c.name == name)
            ).scalar()
        return found or ""

    def of_all(self, name: str) -> dict[str, str]:
        """What each channel kept under a name."""
        with self.store.reading() as tx:
            found = tx.execute(select(kept).where(kept.c.name == name, kept.c.channel != ""))
            return {row.channel: row.value for row in found}

    def keep(self, channel: str, name: str, value: str) -> None:
        """Keep a short value for this channel over restarts."""
        with self.store.begin() as tx:
            upsert(tx, kept, {"channel": channel, "name": name}, {"value": value})

    def found(self, channel: str, key: str) -> bool:
        """Whether the outbox knows a message of this key as sent on this channel."""
        with self.store.begin() as tx:
            return outbox.knows(tx, channel, key)
