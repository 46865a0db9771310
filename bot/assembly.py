"""Finds the rooms' modules, opens the store and puts the house together."""

from __future__ import annotations

import importlib
import pkgutil
import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Any

from bot import channels as channels_room
from bot import presence
from bot.courier import Courier, Owed
from bot.craft.recipe import Recipe
from bot.engine import Engine
from bot.exchange import Exchange
from bot.language.addressing import addressed
from bot.language.understand import tongues, understand
from bot.messages import Incoming, Manner
from bot.newcomers import guess
from bot.ports import Channel
from bot.posting import Rooms, again
from bot.recipes.own import from_folder
from bot.recipes.reading import RecipeError, shipped
from bot.records.doorway import Doorway
from bot.records.store import Store
from bot.settings import Settings, SettingsError, read
from bot.wording.catalogue import LOCALES
from bot.wording.say import say

PREFIX = "STIRBELL_"


def random_id() -> str:
    """An identity nobody can guess, 16 characters."""
    return secrets.token_hex(8)


@dataclass(slots=True)
class House:
    """Everything that runs on one store. `manners` are those of channels other copies hold."""

    store: Store
    engine: Engine
    door: Doorway
    environ: Mapping[str, str]
    now: Callable[[], datetime]
    channels: dict[str, Channel] = field(default_factory=dict)
    manners: dict[str, Manner] = field(default_factory=dict)
    owed: dict[str, Owed] = field(default_factory=dict)
    """What couriers know of their sends and could not write: the next one of the channel does."""

    def open(self, name: str) -> Channel:
        """Open one channel, with its courier.

        Raises:
            SettingsError: a setting is missing or wrong.
        """
        # Only what is asked for is imported: a terminal needs no messenger's library.
        module = importlib.import_module(f"bot.channels.{name}")
        settings = read(module.SETTINGS, f"{PREFIX}{name.upper()}_", self.environ)
        channel: Channel = module.open_channel(settings, self.door, self.now)
        self.channels[name] = channel
        repeated = partial(again, self.engine.exchange.rooms)
        self.engine.couriers[name] = Courier(
            self.store, channel, again=repeated, owed=self.owed.setdefault(name, [])
        )
        return channel

    def shut(self, name: str) -> None:
        """Close one channel; what it was to send waits for whoever opens it next."""
        courier = self.engine.couriers.pop(name)
        # First: a send over a closed channel would be one of which nobody knows what became.
        courier.begin_no_more()
        self.channels.pop(name).close()
        courier.close()

    def close(self) -> None:
        """Close the channels, then the store."""
        for name in list(self.channels):
            self.shut(name)
        self.store.close()


def channel_names() -> tuple[str, ...]:
    """The channels that are there."""
    return tuple(presence.modules("bot.channels", "NAME"))


def configured(environ: Mapping[str, str]) -> tuple[str, ...]:
    """The channels that have settings in the environment."""
    found = sorted(each.name for each in pkgutil.iter_modules(channels_room.__path__))
    return tuple(
        name for name in found if any(key.startswith(f"{PREFIX}{name.upper()}_") for key in environ)
    )


def assemble(
    address: str,
    *,
    now: Callable[[], datetime],
    environ: Mapping[str, str],
    names: tuple[str, ...],
    new_id: Callable[[], str] = random_id,
    newcomer: Callable[[Incoming], Mapping[str, Any]] | None = None,
    locales: Path = LOCALES,
) -> House:
    """The house with these channels open, its database at the newest revision.

    `locales` is the folder of the languages.

    Raises:
        StoreError: the database cannot be used.
        SettingsError: a channel's setting is missing or wrong, or an own recipe has a fault.
    """
    known = recipes(environ)
    store = Store(address, new_id)
    store.migrate()
    channels: dict[str, Channel] = {}
    manners: dict[str, Manner] = {}
    found = rooms(channels, manners, newcomer or guess, known, locales)
    exchange = Exchange(store, found)
    engine = Engine(store, exchange, {})
    house = House(store, engine, Doorway(store, now), environ, now, channels, manners)
    for name in names:
        house.open(name)
    return house


def recipes(environ: Mapping[str, str]) -> Mapping[str, Recipe]:
    """The recipes that come with the program, with an operator's own folder of them over it.

    Raises:
        SettingsError: a file cannot be read as a recipe: which file and field, and the mend.
    """
    folder = read(Settings, PREFIX, environ).recipes
    try:
        return from_folder(shipped(), folder) if folder else shipped()
    except RecipeError as fault:
        raise SettingsError(str(fault)) from fault


def rooms(
    channels: Mapping[str, Channel],
    manners: Mapping[str, Manner],
    newcomer: Callable[[Incoming], Mapping[str, Any]],
    known: Mapping[str, Recipe] | None = None,
    locales: Path = LOCALES,
) -> Rooms:
    """The rooms an exchange passes through, with what was found in each."""
    heard = tongues(locales)
    return Rooms(
        requests=presence.modules("bot.requests", "KIND"),
        reminders=presence.modules("bot.reminders", "KIND"),
        subjects=presence.modules("bot.craft", "SUBJECT"),
        recipes=shipped() if known is None else known,
        understand=partial(_understand, heard),
        addressed=partial(addressed, heard=heard),
        say=partial(_say, locales),
        manner=partial(_manner, channels, manners),
        newcomer=newcomer,
        languages=tuple(heard),
    )


def _understand(heard: Any, text: str, hearing: Any) -> Any:
    return understand(text, heard, hearing)


def _say(locales: Path, facts: Any, question: Any, voice: Any, manner: Manner) -> Any:
    return say(facts, voice, manner, question=question, root=locales)


def _manner(channels: Mapping[str, Channel], manners: Mapping[str, Manner], name: str) -> Manner:
    channel = channels.get(name)
    return channel.manner if channel is not None else manners.get(name, Manner())
