"""What Kannel calls us with: a message, or what became of one."""

from __future__ import annotations

import base64
import hashlib
import json
import logging
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from http import HTTPStatus

from bot.channels.gateway.options import NAME, Options
from bot.listener import Call, Turned, same
from bot.messages import Incoming, Receipt
from bot.phones import Kind, kind, normal
from bot.ports import Door
from bot.udh import header

LOG = logging.getLogger(__name__)

BINARY_CODING = "1"
"""Kannel's word for octets that are no text."""

DELIVERED, FAILED, ACCEPTED, REJECTED = 1, 2, 8, 16
"""Kannel's types of report; together they are asked for as a sum."""


def key_written(key: str) -> str:
    """A dedupe key in letters that Kannel leaves as they are: it reads every % in an address."""
    return base64.urlsafe_b64encode(key.encode()).decode().rstrip("=")


def key_read(written: str) -> str:
    """The key again.

    Raises:
        Turned: it is none.
    """
    padded = written + "=" * (-len(written) % 4)
    try:
        return base64.b64decode(padded, altchars=b"-_", validate=True).decode()
    except ValueError:
        raise Turned(HTTPStatus.BAD_REQUEST) from None


class Receiver:
    """Takes Kannel's calls. A call that returns is committed."""

    def __init__(self, options: Options, door: Door, now: Callable[[], datetime]) -> None:
        self._options = options
        self._door = door
        self._now = now

    def message(self, call: Call) -> None:
        """Keep one message.

        Raises:
            Turned: the secret is wrong, or it is no message.
        """
        given = self._admitted(call)
        sender = _word(given, "from").strip()
        if kind(sender, self._options.country) is not Kind.PHONE:
            LOG.info("a message from the gateway has no phone behind it: set aside")
            return
        number = normal(sender, self._options.country)
        octets, udh = given.get("text", b""), given.get("udh", b"").hex()
        fault = _fault(udh, _word(given, "coding"))
        text = "" if fault else _text(octets, _word(given, "charset"))
        self._door.accept(
            Incoming(
                channel=NAME,
                outside_id=_outside_id(given, number, udh),
                address=number,
                text=text,
                sent_at=self._moment(_word(given, "at")),
                fault=fault,
                raw=json.dumps(
                    {"text": octets.hex(), "udh": udh, "charset": _word(given, "charset")}
                ),
            )
        )

    def report(self, call: Call) -> None:
        """Keep what became of a message.

        Raises:
            Turned: the secret is wrong, or it is no report.
        """
        given = self._admitted(call)
        key = key_read(_word(given, "key"))
        what = _word(given, "type")
        if what in (str(FAILED), str(REJECTED)):
            why = "the carrier turned it down" if what == str(REJECTED) else "not delivered"
            answer = _word(given, "answer").strip()[:200]
            cause = f"{why} ({answer})" if answer else why
            self._door.receipt(Receipt(NAME, key, delivered=False, cause=cause))
        elif what == str(DELIVERED):
            self._door.receipt(Receipt(NAME, key, delivered=True))

    def _admitted(self, call: Call) -> dict[str, bytes]:
        given = call.query()
        if not same(given.pop("secret", b""), self._options.secret):
            raise Turned(HTTPStatus.FORBIDDEN)
        return given

    def _moment(self, seconds: str) -> datetime:
        """When it was sent, in UTC; never later than now."""
        now = self._now()
        try:
            return min(datetime.fromtimestamp(int(seconds), UTC), now)
        except (ValueError, OverflowError, OSError):
            return now


def _word(given: Mapping[str, bytes], name: str) -> str:
    return given.get(name, b"").decode("utf-8", "replace")


def _text(octets: bytes, charset: str) -> str:
    """The words; Kannel names the charset, and UTF-16 goes by big octets first."""
    name = "utf-16-be" if charset.upper() in ("UTF-16", "UTF-16BE", "UCS-2") else charset or "utf-8"
    try:
        return octets.decode(name, "replace")
    except LookupError:
        return octets.decode("utf-8", "replace")


def _fault(udh: str, coding: str) -> str:
    """Why the text cannot be trusted, or ""."""
    found = header(udh)
    if found.shifted:
        return "shift_table"
    if coding == BINARY_CODING or found.to_port:
        return "binary"
    return "part_missing" if found.total > 1 else ""


def _outside_id(given: Mapping[str, bytes], number: str, udh: str) -> str:
    """Kannel's own id, the same on every try; parts left over of one message have one in common."""
    found = header(udh)
    if found.total > 1:
        day = _word(given, "at")[:-5]  # about a day, so that the reference may come round again
        seed = f"{number} {found.reference} {found.total} {day}"
    else:
        seed = _word(given, "id") or f"{number} {given.get('text', b'').hex()} {_word(given, 'at')}"
    return hashlib.sha256(seed.encode()).hexdigest()[:32]
