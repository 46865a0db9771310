"""The library's client, with the answers that it would blur kept apart."""

from __future__ import annotations

import logging
from typing import Any

import msgspec
from telegram import Bot
from telegram.error import TelegramError
from telegram.request import HTTPXRequest

from bot.channels.telegram.options import Options

ALLOWED = ["message", "callback_query", "my_chat_member"]
"""The kinds of update asked for. Edits are not among them: see DEVELOPERS.md."""

AT_ONCE = 4
"""Sends in flight. Measured: more than four are slower, not faster (one loop, one core)."""

_PLAIN = frozenset({400, 401, 403, 404, 409})
"""Codes that the library turns into a kind of its own."""

# Both write what must not be in a log: the address with the token in it, and whole messages.
logging.getLogger("httpx").setLevel(logging.WARNING)
logging.getLogger("telegram.request").setLevel(logging.CRITICAL)


class RefusalError(TelegramError):
    """An answer other than yes that the library has no kind for: its code and its wait.

    `telegram` is False where something between here and there answered in Telegram's stead.
    """

    def __init__(self, code: int, description: str, retry_after_s: float, telegram: bool) -> None:
        super().__init__(description)
        self.code = code
        self.retry_after_s = retry_after_s
        self.telegram = telegram


class Parameters(msgspec.Struct):
    """The part of a refusal that a program can use."""

    retry_after: float = 0.0


class Refusal(msgspec.Struct):
    """Telegram's own answer when it is not yes."""

    ok: bool
    description: str = ""
    parameters: Parameters = msgspec.field(default_factory=Parameters)


class Line(HTTPXRequest):
    """Requests over HTTP that keep the status code of a refusal."""

    async def do_request(self, *args: Any, **kwargs: Any) -> tuple[int, bytes]:
        """The code and the body.

        Raises:
            RefusalError: for 429, for 5xx, and for a refusal that is not Telegram's own.
        """
        code, payload = await super().do_request(*args, **kwargs)
        if 200 <= code <= 299:
            return code, payload
        try:
            refusal = msgspec.json.decode(payload, type=Refusal)
        except msgspec.DecodeError:
            raise RefusalError(
                code, f"HTTP {code}, not from Telegram", 0.0, telegram=False
            ) from None
        if code not in _PLAIN:
            wait_s = refusal.parameters.retry_after
            raise RefusalError(code, refusal.description or f"HTTP {code}", wait_s, telegram=True)
        return code, payload


def build(options: Options) -> Bot:
    """A client that is not yet connected; one line for polling, the others for all else."""
    sending = Line(
        connection_pool_size=AT_ONCE + 4,
        connect_timeout=5.0,
        read_timeout=15.0,
        write_timeout=10.0,
        pool_timeout=5.0,
    )
    polling = Line(connection_pool_size=2, connect_timeout=5.0, pool_timeout=5.0)
    api = options.api.rstrip("/")
    return Bot(
        options.token,
        base_url=f"{api}/bot",
        base_file_url=f"{api}/file/bot",
        request=sending,
        get_updates_request=polling,
    )
