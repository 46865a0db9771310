"""What an operator sets for the gateway, and what is wrong with it in one line."""

from __future__ import annotations

import re

import msgspec

from bot.listener import address
from bot.settings import SettingsError

NAME = "gateway"

PREFIX = "STIRBELL_GATEWAY_"

SHORTEST_SECRET = 16

_SECRET = re.compile(r"[\w-]+", re.ASCII)


class Options(msgspec.Struct, frozen=True):
    """The variables `STIRBELL_GATEWAY_PASSWORD` and so on.

    `username` and `password` are those of Kannel's sendsms-user, `secret` stands in the addresses
    that Kannel calls. `listen` is where the bot listens, `called` the address under which Kannel
    reaches that (empty: the same). `sender` is the number or name messages come from (empty:
    Kannel's global-sender). `country` is the two letter code of numbers that come without a
    prefix. `most_parts` is the longest message sent, in SMS; Kannel's max-messages must not be
    below it. `pages` is how many SMS an answer takes before it is paged.
    """

    password: str
    secret: str
    username: str = "bot"
    send_url: str = "http://127.0.0.1:13013/cgi-bin/sendsms"
    listen: str = "127.0.0.1:8080"
    called: str = ""
    sender: str = ""
    country: str = ""
    reports: bool = True
    most_parts: int = 6
    pages: int = 2
    timeout_s: float = 20.0


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
    if options.country and not (len(options.country) == 2 and options.country.isupper()):
        raise SettingsError(f"{PREFIX}COUNTRY is two capital letters, as IN")
    if not 1 <= options.most_parts <= 255:
        raise SettingsError(f"{PREFIX}MOST_PARTS is not between 1 and 255")
    if options.timeout_s <= 0:
        raise SettingsError(f"{PREFIX}TIMEOUT_S is above 0")
    return options
