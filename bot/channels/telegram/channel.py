"""The channel itself: its own thread with its own loop, plain calls towards the courier."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable
from concurrent.futures import CancelledError, Future
from datetime import datetime
from threading import Lock, Thread
from typing import ClassVar

from telegram import BotCommand
from telegram.constants import MessageLimit
from telegram.error import InvalidToken, TelegramError

from bot.channels.telegram.api import ALLOWED, AT_ONCE, build
from bot.channels.telegram.intake import Intake
from bot.channels.telegram.options import NAME, Options, checked, menu
from bot.channels.telegram.polling import Patience, Polling, answer, drop_webhook, said
from bot.channels.telegram.reading import Me
from bot.channels.telegram.sending import Sender
from bot.channels.telegram.webhook import Webhook
from bot.messages import Became, Manner, Outcome, Outgoing, Pace
from bot.ports import Door
from bot.settings import SettingsError

LOG = logging.getLogger(__name__)

FIRST_WAIT_S = 8.0
"""How long opening waits for Telegram's first word; after that it goes on without."""

GRACE_S = 0.4
"""How long closing lets sends under way come home."""


class Telegram:
    """Telegram with updates asked for. Made by `open_channel`."""

    name: ClassVar[str] = NAME
    polled: ClassVar[bool] = True
    manner = Manner(
        one_message=MessageLimit.MAX_TEXT_LENGTH.value,
        alphabet="any",
        buttons=True,
        pictures=True,
    )
    pace = Pace(
        # Source: the Bot API FAQ on limits, from memory: about 30 a second over all,
        # one a second in a chat, 20 a minute in a group.
        per_second=30.0,
        per_address_per_s=1.0,
        per_board_per_minute=20.0,
        at_once=AT_ONCE,
    )

    def __init__(self, options: Options, door: Door, now: Callable[[], datetime]) -> None:
        self._options = options
        self._commands = menu(options)
        self._door = door
        self._now = now
        self._bot = build(options)
        self._sender = Sender(self._bot, now)
        self._hook = (
            Webhook(options.webhook_listen, options.webhook_secret) if options.webhook_url else None
        )
        self._first: Future[None] = Future()
        self._gate = Lock()
        self._closed = False
        self._sends: set[asyncio.Task[Outcome]] = set()
        self._loop = asyncio.new_event_loop()
        self._stop = asyncio.Event()
        self._thread = Thread(target=self._live, name="telegram", daemon=True)
        self._thread.start()

    def first_word(self) -> None:
        """Wait for Telegram's first word; no answer in time is no fault.

        Raises:
            SettingsError: the token was refused.
        """
        try:
            self._first.result(FIRST_WAIT_S)
        except InvalidToken as fault:
            self.close()
            raise SettingsError(said(fault)) from None
        except Exception:  # noqa: BLE001 - the loop has said it, and goes on trying
            return

    def send(self, outgoing: Outgoing) -> Outcome:
        """Try once and wait for the answer; from any thread."""
        # Under the lock, so that whatever is handed to the loop stands before its end.
        with self._gate:
            if self._closed:
                return Outcome(Became.LATER, "the channel is closed")
            work = asyncio.run_coroutine_threadsafe(self._send(outgoing), self._loop)
        try:
            return work.result()
        except CancelledError:
            return Outcome(Became.UNKNOWN, "the channel was closed while sending")

    def close(self) -> None:
        """Stop listening within a second. What was not confirmed to Telegram comes again."""
        with self._gate:
            if self._closed:
                return
            self._closed = True
            self._loop.call_soon_threadsafe(self._stop.set)
        if self._hook is not None:
            self._hook.close()
        self._thread.join()

    async def _send(self, outgoing: Outgoing) -> Outcome:
        task = asyncio.ensure_future(self._sender.send(outgoing))
        self._sends.add(task)
        task.add_done_callback(self._sends.discard)
        return await task

    def _live(self) -> None:
        with asyncio.Runner(loop_factory=lambda: self._loop) as runner:
            runner.run(self._until_stopped())

    async def _until_stopped(self) -> None:
        listening = asyncio.create_task(self._listen())
        await self._stop.wait()
        listening.cancel()
        under_way = set(self._sends)
        if under_way:
            await asyncio.wait(under_way, timeout=GRACE_S)
        for send in under_way:
            send.cancel()
        await asyncio.gather(listening, *under_way, return_exceptions=True)
        await self._bot.shutdown()

    async def _listen(self) -> None:
        me = await self._introduced()
        intake = Intake(self._bot, me, self._door, self._now)
        await self._offer_commands()
        if self._hook is None:
            await self._persist(lambda: drop_webhook(self._bot))
            await Polling(self._bot, intake, self._options.poll_timeout_s).run()
        else:
            self._hook.take_with(lambda raw: self._take(intake, raw))
            await self._persist(self._hook_up)

    async def _introduced(self) -> Me:
        """Who the bot is, however long the network takes to come."""
        patience = Patience()
        while True:
            try:
                await self._bot.initialize()
            except Exception as fault:  # noqa: BLE001 - a proxy may answer anything; ask again
                if not self._first.done():
                    self._first.set_exception(fault)
                await patience.wait(fault)
            else:
                if not self._first.done():
                    self._first.set_result(None)
                return Me(self._bot.id, self._bot.username)

    async def _persist(self, step: Callable[[], Awaitable[object]]) -> None:
        """One call to Telegram, until it has worked."""
        patience = Patience()
        while True:
            try:
                await step()
            except Exception as fault:  # noqa: BLE001 - a proxy may answer anything; ask again
                await patience.wait(fault)
            else:
                return

    async def _hook_up(self) -> None:
        await self._bot.set_webhook(
            self._options.webhook_url,
            secret_token=self._options.webhook_secret,
            # One connection keeps the order: a person's second message never overtakes the first.
            max_connections=1,
            allowed_updates=ALLOWED,
        )

    async def _offer_commands(self) -> None:
        """The menu beside the text field; words typed work without it."""
        for language, table in self._commands.items():
            code = None if language == "default" else language
            commands = [BotCommand(name, what) for name, what in table.items()]
            try:
                await self._bot.set_my_commands(commands, language_code=code)
            except (TelegramError, ValueError) as fault:
                LOG.warning("commands for %s were not set: %s", language, type(fault).__name__)

    def _take(self, intake: Intake, raw: object) -> None:
        """One update from the webhook's thread."""
        callback_id = intake.take(raw)
        with self._gate:
            if callback_id and not self._closed:
                asyncio.run_coroutine_threadsafe(answer(self._bot, callback_id), self._loop)


class Hooked(Telegram):
    """Telegram with a webhook: several copies may listen behind one address."""

    polled: ClassVar[bool] = False


def open_channel(settings: Options, door: Door, now: Callable[[], datetime]) -> Telegram:
    """Telegram, listening.

    It opens without a network too, and goes on trying; only what an operator must mend stops it.

    Raises:
        SettingsError: one line that names the variable and the mend.
    """
    options = checked(settings)
    channel = Hooked(options, door, now) if options.webhook_url else Telegram(options, door, now)
    channel.first_word()
    return channel
