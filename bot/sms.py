"""What every channel that sends SMS has in common: its limits, and what it never sends."""

from __future__ import annotations

from datetime import datetime

import msgspec

from bot.messages import Became, Manner, Outcome, Outgoing
from bot.phones import Kind, kind
from bot.settings import SettingsError
from bot.wording.segments import split

MOST_PARTS = 255
"""The total of parts is one octet. Source: 3GPP TS 23.040, section 9.2.3.24.1."""


class SmsOptions(msgspec.Struct, frozen=True, kw_only=True):
    """What an operator may set for any of them.

    `country` is the two letter code of numbers that come without a prefix. `most_parts` is the
    longest message sent, in SMS; `pages` how many SMS an answer takes before it is paged. One
    number is answered `answers_an_hour` times at most (four times that a day), and so many numbers
    that nobody knows are taken in, `newcomers_an_hour`; 0 is no limit.
    """

    country: str = ""
    most_parts: int = 6
    pages: int = 2
    answers_an_hour: int = 60
    newcomers_an_hour: int = 300


def check(options: SmsOptions, prefix: str) -> None:
    """See that each of them can work.

    Raises:
        SettingsError: one line that names the variable and the mend.
    """
    if options.country and not (len(options.country) == 2 and options.country.isupper()):
        raise SettingsError(f"{prefix}COUNTRY is two capital letters, as IN")
    if not 1 <= options.most_parts <= MOST_PARTS:
        raise SettingsError(f"{prefix}MOST_PARTS is not between 1 and {MOST_PARTS}")
    for name in ("answers_an_hour", "newcomers_an_hour"):
        if getattr(options, name) < 0:
            raise SettingsError(f"{prefix}{name.upper()} is 0 (no limit) or more")
    if options.pages < 1:
        raise SettingsError(f"{prefix}PAGES is 1 or more")


def manner(options: SmsOptions) -> Manner:
    """How these channels carry words."""
    return Manner(
        one_message=160,
        alphabet="gsm7",
        pages=options.pages,
        answers_an_hour=options.answers_an_hour,
        newcomers_an_hour=options.newcomers_an_hour,
        forgeable=True,
    )


def never_sent(outgoing: Outgoing, options: SmsOptions, now: datetime) -> Outcome | None:
    """Why a message will never be sent, or None: no phone, no words, too long, too late."""
    what = kind(outgoing.address, options.country)
    if what is not Kind.PHONE:
        return Outcome(Became.REFUSED, f"no phone to write to: {what.value}", dead_address=True)
    if not outgoing.text.strip():
        return Outcome(Became.REFUSED, "there is nothing in the message")
    count = len(split(outgoing.text))
    if count > options.most_parts:
        return Outcome(
            Became.REFUSED,
            f"the message takes {count} SMS, more than the {options.most_parts} allowed",
        )
    if outgoing.valid_until is not None and outgoing.valid_until <= now:
        return Outcome(Became.REFUSED, "its time has passed")
    return None
