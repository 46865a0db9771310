"""What an operator sets for the gateway, and what is wrong with it in one line."""

from __future__ import annotations

import re

from bot.listener import address
from bot.settings import SettingsError
from bot.sms import SmsOptions, check

NAME = "gateway"

PREFIX = "STIRBELL_GATEWAY_"

SHORTEST_SECRET = 16

_SECRET = re.compile(r"[\w-]+", re.ASCII)


class Options(SmsOptions, frozen=True):
    """The variables `STIRBELL_GATEWAY_PASSWORD` and so on.

    `username` and `password` are those of Kannel's sendsms-user, `secret` stands in the addresses
    that Kannel calls. `listen` is where the bot listens, `called` the address under which Kannel
    reaches that (empty: the same). `sender` is the number or name messages come from (empty:
    Kannel's global-sender). `per_second` is how many messages the carrier takes; 0 is no limit.
    The rest are those of `bot/sms.py`; Kannel's max-messages must not be below `most_parts`.
    """

    password: str
    secret: str
    username: str = "bot"
    send_url: str = "http://127.0.0.1:13013/cgi-bin/sendsms"
    listen: str = "127.0.0.1:8080"
    called: str = ""
    sender: str = ""
    reports: bool = True
    timeout_s: float = 20.0
    per_second: float = 0.0


def checked(options: Options) -> Options:
    """The same options, once each of them can work.

    Raises:
        SettingsError: one line that names the variable and the mend.
    """
    if not options.password:
        raise SettingsError(f"{PREFIX}PASSWORD is empty: copy it from Kannel's sendsms-user")
    for name in ("username", "password", "sender"):
        word = getattr(options, name)
        if not (word.isascii() and (not word or word.isprintable())):
            raise SettingsError(f"{PREFIX}{name.upper()} may hold plain letters and signs only")
    if len(options.secret) < SHORTEST_SECRET or not _SECRET.fullmatch(options.secret):
        raise SettingsError(
            f"{PREFIX}SECRET has to be {SHORTEST_SECRET} or more letters and digits: "
            "make one up at random, as with: openssl rand -hex 24"
        )
    for name, url in (("SEND_URL", options.send_url), ("CALLED", options.called)):
        if url and not url.startswith(("http://", "https://")):
            raise SettingsError(f"{PREFIX}{name} is no address: it begins with http://")
    if "%" in options.called:
        raise SettingsError(f"{PREFIX}CALLED: Kannel would read the % in it: write it without")
    address(options.listen, PREFIX + "LISTEN")
    check(options, PREFIX)
    if options.timeout_s <= 0:
        raise SettingsError(f"{PREFIX}TIMEOUT_S is above 0")
    if options.per_second < 0:
        raise SettingsError(f"{PREFIX}PER_SECOND is 0 (no limit) or more")
    return options
