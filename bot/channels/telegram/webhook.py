"""The webhook: Telegram calls us, and hears 200 only after the commit."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from http import HTTPStatus

from bot.channels.telegram.options import PREFIX
from bot.listener import ANYWHERE, Call, Listener, Patience, Turned, same

SECRET_HEADER = "X-Telegram-Bot-Api-Secret-Token"  # noqa: S105 - the header's name

CONNECTIONS = 16
"""Open at once, ours and strangers' together: Telegram is told to hold one."""

Take = Callable[[object], None]
"""Commits one update, or raises."""


class Webhook:
    """Listens from the moment it is made; answers 500 until it is told where to put updates."""

    def __init__(self, listen: str, secret: str) -> None:
        self._secret = secret
        self._listener = Listener(
            listen,
            f"{PREFIX}WEBHOOK_LISTEN",
            {},
            Patience(connections=CONNECTIONS),
            admits=self._admits,
        )

    @property
    def port(self) -> int:
        """The port it listens at, where 0 was asked for."""
        return self._listener.port

    def take_with(self, take: Take) -> None:
        """Hand every update to `take` from now on."""

        def called(call: Call) -> None:
            if call.method != "POST":
                raise Turned(HTTPStatus.NOT_FOUND)
            take(_loaded(call.body))

        self._listener.routes = {ANYWHERE: called}

    def close(self) -> None:
        """Take no more calls. One that is being committed goes on, and is heard of again."""
        self._listener.close()

    def _admits(self, headers: Mapping[str, str]) -> bool:
        return same(headers.get(SECRET_HEADER.lower(), ""), self._secret)


def _loaded(body: bytes) -> object:
    """The update; a body that is no JSON comes back as its text, to be set aside as it is."""
    try:
        return json.loads(body)
    except ValueError:
        return body.decode("utf-8", "replace")
