"""A village modem: a SIM in a USB modem or an old phone, held by the daemon gammu-smsd.

The daemon keeps its messages in a database (SQLite or PostgreSQL); this channel reads and writes
its tables, in transactions of one statement or two, and never waits inside one.
"""

from __future__ import annotations

from bot.channels.modem.channel import Modem, open_channel
from bot.channels.modem.options import NAME, Options, checked

SETTINGS = Options

__all__ = ["NAME", "SETTINGS", "Modem", "checked", "open_channel"]
