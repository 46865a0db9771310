"""An SMS gateway of one's own: Kannel, which holds the link to a carrier and speaks HTTP to us."""

from __future__ import annotations

from bot.channels.gateway.channel import Gateway, open_channel
from bot.channels.gateway.options import NAME, Options

SETTINGS = Options

__all__ = ["NAME", "SETTINGS", "Gateway", "open_channel"]
