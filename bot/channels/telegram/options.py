"""What an operator sets for Telegram, and what is wrong with it in one line."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path

import msgspec

from bot.settings import SettingsError

NAME = "telegram"

PREFIX = "STIRBELL_TELEGRAM_"

OFFICIAL = "https://api.telegram.org"

LONGEST_POLL_S = 50
"""Telegram's own ceiling for one long poll. Source: the Bot API server; from memory."""

_TOKEN = re.compile(r"\d+:[\w-]+", re.ASCII)
_SECRET = re.compile(r"[\w-]{1,256}", re.ASCII)
_COMMAND = re.compile(r"[a-z0-9_]{1,32}", re.ASCII)
_LANGUAGE = re.compile(r"[a-z]{2}|default", re.ASCII)

Menu = Mapping[str, Mapping[str, str]]
"""Two-letter language (or "default") to command name to what it does."""


class Options(msgspec.Struct, frozen=True):
    """The variables `STIRBELL_TELEGRAM_TOKEN` and so on.

    `api` is another server that speaks the same protocol: one's own, or a test's. With
    `webhook_url` (what Telegram calls, https) the bot listens at `webhook_listen` instead of
    polling. `commands` is a TOML file with one table a language: `[en]`, `today = "What is due"`.
    """

    token: str
    api: str = OFFICIAL
    poll_timeout_s: int = 25
    webhook_url: str = ""
    webhook_listen: str = "127.0.0.1:8443"
    webhook_secret: str = ""
    commands: str = ""

    @property
    def bot_id(self) -> str:
        """The bot's own number, the part of the token that is no secret."""
        return self.token.partition(":")[0]


def checked(options: Options) -> Options:
    """The same options, once each of them can work.

    Raises:
        SettingsError: one line that names the variable and the mend.
    """
    if not _TOKEN.fullmatch(options.token):
        raise SettingsError(
            f"{PREFIX}TOKEN is not a bot's token: copy it whole as BotFather gave it, "
            "digits, a colon, then letters"
        )
    if not options.api.startswith(("https://", "http://")):
        raise SettingsError(f"{PREFIX}API is not an address: it begins with https://")
    if not 0 <= options.poll_timeout_s <= LONGEST_POLL_S:
        raise SettingsError(f"{PREFIX}POLL_TIMEOUT_S is not between 0 and {LONGEST_POLL_S} seconds")
    if options.webhook_url:
        _check_webhook(options)
    return options


def _check_webhook(options: Options) -> None:
    if not options.webhook_url.startswith("https://") and options.api == OFFICIAL:
        raise SettingsError(
            f"{PREFIX}WEBHOOK_URL has to begin with https://: Telegram calls no other"
        )
    if not _SECRET.fullmatch(options.webhook_secret):
        raise SettingsError(
            f"{PREFIX}WEBHOOK_SECRET has to be 1 to 256 letters, digits, _ or -: "
            "make one up, long and at random"
        )
    host, _, port = options.webhook_listen.rpartition(":")
    if not host or not port.isdecimal() or int(port) > 65535:
        raise SettingsError(f"{PREFIX}WEBHOOK_LISTEN is not host:port, as 127.0.0.1:8443")


def menu(options: Options) -> Menu:
    """The commands that Telegram shows beside the text field, by language; empty if none are set.

    Raises:
        SettingsError: the file is missing, is no TOML, or has a name that Telegram refuses.
    """
    if not options.commands:
        return {}
    try:
        read = tomllib.loads(Path(options.commands).read_text("utf-8"))
        commands = msgspec.convert(read, dict[str, dict[str, str]])
    except (OSError, ValueError, msgspec.ValidationError) as fault:
        raise SettingsError(f"{PREFIX}COMMANDS: {options.commands}: {fault}") from fault
    for language, table in commands.items():
        bad = [name for name in table if not _COMMAND.fullmatch(name)]
        if bad or not _LANGUAGE.fullmatch(language):
            raise SettingsError(
                f"{PREFIX}COMMANDS: {options.commands}: {bad[0] if bad else language}: a table is "
                "two small letters or default, a command 1 to 32 of a-z, 0-9 and _"
            )
    return commands
