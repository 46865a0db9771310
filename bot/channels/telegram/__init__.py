"""Telegram: by polling, or by a webhook where an address of ours can be reached from outside."""

from __future__ import annotations

from bot.channels.telegram.channel import Telegram, open_channel
from bot.channels.telegram.options import NAME, Options, checked

SETTINGS = Options

__all__ = ["NAME", "SETTINGS", "Telegram", "checked", "open_channel"]
