"""One message out, and what became of it."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import datetime, timedelta

import httpx
from telegram import Bot, LinkPreviewOptions, Message, ReplyKeyboardMarkup
from telegram.constants import MessageLimit
from telegram.error import (
    BadRequest,
    ChatMigrated,
    Forbidden,
    InvalidToken,
    NetworkError,
    TelegramError,
)

from bot.channels.telegram.api import RefusalError
from bot.messages import Became, Outcome, Outgoing

LONGEST_WAIT_S = 60.0
"""After this long a try is given up as unknown, whatever the far side is still dribbling."""

TOKEN_WAIT_S = 60.0
"""How long all sending rests when the token is refused: only an operator can mend that."""

_NEVER_LEFT = (
    httpx.ConnectError,
    httpx.ConnectTimeout,
    httpx.PoolTimeout,
    httpx.ProxyError,
    httpx.UnsupportedProtocol,
)
"""Faults from before the first byte of a request: it surely did not arrive."""

_DEAD = (
    "chat not found",
    "user not found",
    "peer_id_invalid",
    "chat was deleted",
    "group chat was deactivated",
    "chat_write_forbidden",
    "not enough rights",
    "have no rights",
    "need administrator rights",
)
"""Refusals that mean the address, not the message.

Source: descriptions the Bot API sends; the first from its documentation, the rest from memory.
"""


class Sender:
    """Sends one message a call over a connected client; knows who was told to wait."""

    def __init__(self, bot: Bot, now: Callable[[], datetime]) -> None:
        self._bot = bot
        self._now = now
        self._waiting: dict[str, datetime] = {}

    async def send(self, outgoing: Outgoing) -> Outcome:
        """What became of one try. Raises nothing but being cancelled."""
        if len(outgoing.text) > MessageLimit.MAX_TEXT_LENGTH:
            limit = MessageLimit.MAX_TEXT_LENGTH.value
            return Outcome(Became.REFUSED, f"longer than {limit} characters")
        try:
            async with asyncio.timeout(LONGEST_WAIT_S):
                message = await self._post(outgoing)
        except Exception as fault:  # noqa: BLE001 - what the outside does is an outcome, not a crash
            return self._held(outgoing.address, outcome_of(fault))
        return Outcome(Became.SENT, outside_id=str(message.message_id))

    async def _post(self, outgoing: Outgoing) -> Message:
        picture = outgoing.picture
        if not picture:
            return await self._words(outgoing)
        if len(outgoing.text) <= MessageLimit.CAPTION_LENGTH:
            return await self._bot.send_photo(
                outgoing.address,
                picture,
                caption=outgoing.text or None,
                reply_markup=keyboard(outgoing.buttons),
                disable_notification=outgoing.silent,
            )
        # Too long for a caption: the words first, they are what the grower needs; the picture
        # after them without a sound. If it fails the words still stand as sent.
        message = await self._words(outgoing)
        try:
            await self._bot.send_photo(outgoing.address, picture, disable_notification=True)
        except TelegramError:
            return message
        return message

    async def _words(self, outgoing: Outgoing) -> Message:
        return await self._bot.send_message(
            outgoing.address,
            outgoing.text,
            reply_markup=keyboard(outgoing.buttons),
            link_preview_options=LinkPreviewOptions(is_disabled=True),
            disable_notification=outgoing.silent,
        )

    def _held(self, address: str, outcome: Outcome) -> Outcome:
        """The outcome; a wait is for the whole channel once a second chat is told to wait too.

        Telegram does not say which of its limits was met. One chat alone has met its own.
        """
        if outcome.became is not Became.LATER or outcome.retry_after_s is None:
            return outcome
        now = self._now()
        self._waiting = {whom: end for whom, end in self._waiting.items() if end > now}
        others = any(whom != address for whom in self._waiting)
        self._waiting[address] = now + timedelta(seconds=outcome.retry_after_s)
        if not others or outcome.whole_channel:
            return outcome
        return Outcome(
            Became.LATER, outcome.cause, retry_after_s=outcome.retry_after_s, whole_channel=True
        )


def keyboard(buttons: tuple[str, ...]) -> ReplyKeyboardMarkup | None:
    """Buttons that send their own text; as many in a row as a small screen can show."""
    if not buttons:
        return None
    longest = max(len(button) for button in buttons)
    in_a_row = 3 if longest <= 10 else 2 if longest <= 18 else 1
    rows = [buttons[at : at + in_a_row] for at in range(0, len(buttons), in_a_row)]
    return ReplyKeyboardMarkup(rows, resize_keyboard=True, one_time_keyboard=True)


def outcome_of(fault: BaseException) -> Outcome:
    """What a fault means for the message that met it.

    >>> outcome_of(Forbidden("Forbidden: bot was blocked by the user")).dead_address
    True
    """
    match fault:
        case RefusalError():
            return _answered(fault)
        case ChatMigrated():
            cause = "the group has a new address"
            return Outcome(
                Became.LATER, cause, retry_after_s=0.0, new_address=str(fault.new_chat_id)
            )
        case Forbidden():
            return Outcome(Became.REFUSED, fault.message, dead_address=True)
        case InvalidToken():
            # The library's own words for this quote the token.
            cause = "Telegram refused the token"
            return Outcome(Became.LATER, cause, retry_after_s=TOKEN_WAIT_S, whole_channel=True)
        case BadRequest():  # before NetworkError, whose child it is
            dead = any(sign in fault.message.lower() for sign in _DEAD)
            return Outcome(Became.REFUSED, fault.message, dead_address=dead)
        case _:
            return _unanswered(fault)


def _unanswered(fault: BaseException) -> Outcome:
    cause = fault.__cause__ if isinstance(fault, NetworkError) else fault
    why = type(cause or fault).__name__
    if isinstance(cause, _NEVER_LEFT):
        return Outcome(Became.LATER, f"not reached: {why}", whole_channel=True)
    return Outcome(Became.UNKNOWN, f"no answer: {why}")


def _answered(fault: RefusalError) -> Outcome:
    cause = f"{fault.code}: {fault.message}"
    if fault.code == 429:
        return Outcome(Became.LATER, cause, retry_after_s=max(fault.retry_after_s, 1.0))
    if fault.code == 413:
        return Outcome(Became.REFUSED, cause)
    if fault.code < 500 or fault.code == 503:
        return Outcome(Became.LATER, cause, whole_channel=True)
    # Any other 5xx may come after the message went on its way.
    return Outcome(Became.UNKNOWN, cause)
