"""What the service calls us with: a message, or what became of one."""

from __future__ import annotations

import hashlib
import json
import logging
from collections.abc import Callable
from datetime import UTC, datetime
from http import HTTPStatus
from typing import Any

from bot.channels.http_sms.mapping import found, words
from bot.channels.http_sms.options import NAME, Options
from bot.channels.http_sms.signing import matches, signature, signed_octets
from bot.listener import Call, Turned, fields, same
from bot.messages import Incoming, Receipt
from bot.phones import Kind, kind, normal
from bot.ports import Door

LOG = logging.getLogger(__name__)

MILLISECONDS = 1e11
"""A number of seconds so large lies thousands of years off: it is milliseconds."""


class Receiver:
    """Takes the service's calls. A call that returns is committed."""

    def __init__(self, options: Options, door: Door, now: Callable[[], datetime]) -> None:
        self._options = options
        self._door = door
        self._now = now
        self._delivered = words(options.delivered_words)
        self._failed = words(options.failed_words)

    def message(self, call: Call) -> None:
        """Keep one message.

        Raises:
            Turned: the caller is not the service, or it is no message.
        """
        given = self._admitted(call)
        options = self._options
        sender = found(given, options.from_field).strip()
        if not sender:
            raise Turned(HTTPStatus.BAD_REQUEST)
        if kind(sender, options.country) is not Kind.PHONE:
            LOG.info("a message from the SMS service has no phone behind it: set aside")
            return
        number = normal(sender, options.country)
        text = _whole(found(given, options.text_field))
        stamp = found(given, options.time_field) if options.time_field else ""
        seed = found(given, options.id_field) or f"{number} {text} {stamp}"
        self._door.accept(
            Incoming(
                channel=NAME,
                outside_id=hashlib.sha256(seed.encode("utf-8", "replace")).hexdigest()[:32],
                address=number,
                text=text,
                sent_at=self._moment(stamp),
                raw=json.dumps(self._without_secret(given)),
            )
        )

    def report(self, call: Call) -> None:
        """Keep what became of a message; states on the way there are no end and are passed over.

        Raises:
            Turned: the caller is not the service, or it is no report.
        """
        given = self._admitted(call)
        options = self._options
        outside_id = found(given, options.report_id_field)
        if not outside_id:
            raise Turned(HTTPStatus.BAD_REQUEST)
        status = found(given, options.report_status_field).strip().lower()
        if status in self._failed:
            why = found(given, options.report_cause_field) if options.report_cause_field else ""
            cause = f"not delivered ({why[:200] or status})"
            self._door.receipt(Receipt(NAME, outside_id, delivered=False, cause=cause))
        elif status in self._delivered:
            self._door.receipt(Receipt(NAME, outside_id, delivered=True))

    def _admitted(self, call: Call) -> Any:
        """The call's fields, once it is known to be from the service."""
        options = self._options
        if options.signature_header:
            given = call.headers.get(options.signature_header.lower(), "")
            octets = signed_octets(options.signature_of, call, options.called.rstrip("/"))
            wanted = signature(options.secret, octets, options.signature_hash, options.signature_as)
            bare = given.strip().removeprefix(options.signature_prefix)
            right = matches(bare, wanted, options.signature_as)
        elif options.secret_header:
            right = same(call.headers.get(options.secret_header.lower(), ""), options.secret)
        else:
            right = same(found(self._read(call), options.secret_field), options.secret)
        if not right:
            raise Turned(HTTPStatus.FORBIDDEN)
        return self._read(call)

    def _read(self, call: Call) -> Any:
        if self._options.call_as == "json":
            try:
                return json.loads(call.body)
            except ValueError:
                raise Turned(HTTPStatus.BAD_REQUEST) from None
        if self._options.call_as == "form":
            octets = fields(call.body.decode("latin-1"))
        else:
            octets = call.query()
        return {name: value.decode("utf-8", "replace") for name, value in octets.items()}

    def _without_secret(self, given: Any) -> Any:
        if isinstance(given, dict):
            return {name: it for name, it in given.items() if name != self._options.secret_field}
        return given

    def _moment(self, stamp: str) -> datetime:
        """When it was sent, in UTC; never later than now.

        A stamp is seconds or milliseconds since 1970, or ISO 8601, in UTC where it has no zone.
        """
        now = self._now()
        try:
            if stamp.replace(".", "", 1).isdecimal():
                seconds = float(stamp)
                sent = datetime.fromtimestamp(
                    seconds / 1000 if seconds > MILLISECONDS else seconds, UTC
                )
            else:
                sent = datetime.fromisoformat(stamp)
                sent = sent.replace(tzinfo=UTC) if sent.tzinfo is None else sent.astimezone(UTC)
        except (ValueError, OverflowError, OSError):
            return now
        return min(sent, now)


def _whole(text: str) -> str:
    """The text without halves of surrogate pairs, which JSON can hold and no database can."""
    return text.encode("utf-16-be", "surrogatepass").decode("utf-16-be", "replace")
