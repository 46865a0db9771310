"""From a raw update to a committed row: what both the polling and the webhook stand on."""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import datetime
from threading import Lock

from telegram import Bot

from bot.channels.telegram.options import NAME
from bot.channels.telegram.reading import Me, Moved, read, unread
from bot.messages import Incoming
from bot.ports import Door

LOG = logging.getLogger(__name__)

TRIES = 3
"""How often the inbox may refuse one update before it is offered without its words."""


class Intake:
    """Takes updates one at a time, in order, from any thread."""

    def __init__(self, bot: Bot, me: Me, door: Door, now: Callable[[], datetime]) -> None:
        self._bot = bot
        self._me = me
        self._door = door
        self._now = now
        self._turn = Lock()
        self._refused: dict[str, int] = {}

    def take(self, raw: object) -> str:
        """Commit one update; the id of a press on a button that wants an answer, or nothing.

        When it has returned the update may be acknowledged.

        Raises:
            Exception: whatever the door raised; the update must be handed in again.
        """
        with self._turn:
            found = read(raw, self._bot, self._me, self._now())
            if isinstance(found.kept, Moved):
                self._door.moved(NAME, found.kept.address, found.kept.new_address)
            elif found.kept is not None:
                self._keep(found.kept, raw)
            return found.callback_id

    def _keep(self, incoming: Incoming, raw: object) -> None:
        if incoming.fault:
            LOG.warning("update %s could not be read and is set aside", incoming.outside_id)
        which = incoming.outside_id
        try:
            self._door.accept(incoming)
        except Exception as fault:
            self._refused[which] = self._refused.get(which, 0) + 1
            if self._refused[which] < TRIES:
                raise
            # Perhaps it is this one message, not the inbox: keep it raw rather than stand still.
            cause = f"the inbox refused it: {type(fault).__name__}"
            self._door.accept(unread(raw, self._me, self._now(), cause))
            LOG.warning("update %s was refused by the inbox and is set aside", which)
        self._refused.pop(which, None)
