"""What comes in, what goes out, and how a channel likes it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from enum import Enum


@dataclass(frozen=True, slots=True)
class Manner:
    """How a channel carries words.

    `one_message` is the length of one message, in the units of `alphabet`: "gsm7" counts septets
    and falls to UCS-2 where a character is missing, "any" counts characters. Longer answers are
    paged after `pages` messages; `more` sends the next. Where each message is paid for, one number
    is answered at most `answers_an_hour` times, and a channel takes at most `newcomers_an_hour`
    numbers that nobody knows; 0 is no limit.
    `forgeable`: anybody can write under another's address, so what destroys or reveals needs a
    code that was sent to the address.
    """

    one_message: int = 160
    alphabet: str = "any"
    pages: int = 1
    buttons: bool = False
    pictures: bool = False
    answers_an_hour: int = 0
    newcomers_an_hour: int = 0
    forgeable: bool = False


@dataclass(frozen=True, slots=True)
class Incoming:
    """One message as it arrived: who, what, when it was sent and under which outside id.

    `name` and `language_hint` are what the channel knows of the sender, often nothing.
    `place` is (latitude, longitude) where the sender shared one. `missed_call` is a call that
    rang and was not answered. `noticeboard` is a group chat rather than a person.
    `reachable` is set where the network itself said so: False, nothing reaches this address
    until it writes again; True, it does again. Such a word asks for no answer.
    `fault` says why the channel could not read what came: then `text` is empty, `address` may
    be, and `raw` has it whole for an operator. Three faults a sender can mend, and is asked to:
    "part_missing" (of a long SMS), "shift_table" (letters this network cannot show), "binary".
    """

    channel: str
    outside_id: str
    address: str
    text: str
    sent_at: datetime
    name: str = ""
    language_hint: str = ""
    place: tuple[float, float] | None = None
    missed_call: bool = False
    noticeboard: bool = False
    reachable: bool | None = None
    fault: str = ""
    raw: str = ""


@dataclass(frozen=True, slots=True)
class Outgoing:
    """One message to be sent. `key` is the same on every try; receivers that can, dedupe on it.

    `kind` is reply, reminder, notice, or last (the one word that confirms a stop).
    """

    key: str
    address: str
    text: str
    buttons: tuple[str, ...] = ()
    picture: bytes = b""
    silent: bool = False
    valid_until: datetime | None = None
    kind: str = "reply"


class Became(Enum):
    """What became of a try to send."""

    SENT = "sent"
    REFUSED = "refused"
    """Never will be: blocked, dead address, too long."""
    LATER = "later"
    """Surely not sent; may be tried again, not before `retry_after_s`."""
    UNKNOWN = "unknown"
    """May or may not have arrived."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one try, why, and what the channel calls the message."""

    became: Became
    cause: str = ""
    outside_id: str = ""
    retry_after_s: float | None = None
    whole_channel: bool = False
    """The wait holds for every address of the channel, not only for this one."""
    dead_address: bool = False
    """Nothing can reach this address until it writes again."""
    new_address: str = ""


@dataclass(frozen=True, slots=True)
class Pace:
    """How fast a channel may be used; 0 is no limit."""

    per_second: float = 0.0
    per_address_per_s: float = 0.0
    per_board_per_minute: float = 0.0
    at_once: int = 1


@dataclass(frozen=True, slots=True)
class Receipt:
    """A later word on a message sent before: delivered, or not."""

    channel: str
    outside_id: str
    delivered: bool
    cause: str = ""
    seen_at: datetime | None = field(default=None)
