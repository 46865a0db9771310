"""Any hosted SMS service that speaks HTTP, described by settings alone.

The settings say how a message is sent (method, address, fields, authentication), which answer
means accepted, how a message or a report comes in, and how a call proves who it is from.
"""

from __future__ import annotations

from bot.channels.http_sms.channel import HttpSms, open_channel
from bot.channels.http_sms.options import NAME, Options

SETTINGS = Options

__all__ = ["NAME", "SETTINGS", "HttpSms", "open_channel"]
