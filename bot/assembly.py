"""Finds the rooms' modules, opens the store and puts the house together."""

from __future__ import annotations

import importlib
import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from typing import Any

from bot import presence
from bot.courier import Courier
from bot.engine import Engine
from bot.exchange import Exchange
from bot.language.understand import tongues, understand
from bot.messages import Incoming, Manner
from bot.newcomers import guess
from bot.ports import Channel
from bot.posting import Rooms, again
from bot.recipes.reading import shipped
from bot.records.doorway import Doorway
from bot.records.store import Store
from bot.settings import read
from bot.wording.say import say

PREFIX = "STIRBELL_"


def random_id() -> str:
    """An identity nobody can guess, 16 characters."""
    return secrets.token_hex(8)


@dataclass(slots=True)
class House:
    """Everything that runs on one store."""

    store: Store
    engine: Engine
    door: Doorway
    channels: dict[str, Channel] = field(default_factory=dict)

    def close(self) -> None:
        """Close the channels, then the store."""
        for channel in self.channels.values():
            channel.close()
        self.store.close()


def channel_names() -> tuple[str, ...]:
    """The channels that are there."""
    return tuple(presence.modules("bot.channels", "NAME"))


def assemble(
    address: str,
    *,
    now: Callable[[], datetime],
    environ: Mapping[str, str],
    names: tuple[str, ...],
    new_id: Callable[[], str] = random_id,
    newcomer: Callable[[Incoming], Mapping[str, Any]] | None = None,
) -> House:
    """The house with these channels open, its database at the newest revision.

    Raises:
        StoreError: the database cannot be used.
        SettingsError: a channel's setting is missing or wrong.
    """
    store = Store(address, new_id)
    store.migrate()
    door = Doorway(store, now)
    channels: dict[str, Channel] = {}
    for name in names:
        # Only what is asked for is imported: a terminal needs no messenger's library.
        module = importlib.import_module(f"bot.channels.{name}")
        settings = read(module.SETTINGS, f"{PREFIX}{name.upper()}_", environ)
        channels[name] = module.open_channel(settings, door, now)
    exchange = Exchange(store, rooms(channels, newcomer or guess))
    couriers = {name: courier(store, exchange, channel) for name, channel in channels.items()}
    return House(store, Engine(store, exchange, couriers), door, channels)


def courier(store: Store, exchange: Exchange, channel: Channel) -> Courier:
    """The courier of one open channel."""
    return Courier(store, channel, again=partial(again, exchange.rooms))


def rooms(
    channels: Mapping[str, Channel], newcomer: Callable[[Incoming], Mapping[str, Any]]
) -> Rooms:
    """The rooms an exchange passes through, with what was found in each."""
    heard = tongues()
    return Rooms(
        requests=presence.modules("bot.requests", "KIND"),
        reminders=presence.modules("bot.reminders", "KIND"),
        subjects=presence.modules("bot.craft", "SUBJECT"),
        recipes=shipped(),
        understand=partial(_understand, heard),
        say=_say,
        manner=partial(_manner, channels),
        newcomer=newcomer,
        languages=tuple(heard),
    )


def _understand(heard: Any, text: str, hearing: Any) -> Any:
    return understand(text, heard, hearing)


def _say(facts: Any, question: Any, voice: Any, manner: Manner) -> Any:
    return say(facts, voice, manner, question=question)


def _manner(channels: Mapping[str, Channel], name: str) -> Manner:
    channel = channels.get(name)
    return channel.manner if channel is not None else Manner()
