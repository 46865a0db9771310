"""To the service, and what it answers."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any
from urllib.parse import quote

import httpx

from bot.channels.http_sms.mapping import (
    fields,
    filled,
    filled_all,
    form_body,
    found,
    json_body,
    words,
)
from bot.channels.http_sms.options import Options
from bot.messages import Became, Outcome, Outgoing
from bot.sms import never_sent
from bot.wording.segments import is_gsm

SERVICE_WAIT_S = 60.0

SETTINGS_WAIT_S = 300.0
"""Somebody must mend a setting first."""

LONGEST_WAIT_S = 3600.0


class Sender:
    """Sends messages. From any thread."""

    def __init__(self, options: Options, now: Callable[[], datetime]) -> None:
        self._options = options
        self._now = now
        self._fields = fields(options.send_fields)
        self._unicode = fields(options.unicode_fields)
        self._headers = fields(options.send_headers)
        self._accepted = words(options.accepted_status)
        self._refused = words(options.refused_status)
        self._client = httpx.Client(
            timeout=options.timeout_s,
            trust_env=False,
            auth=(options.user, options.password) if options.user else None,
        )

    def close(self) -> None:
        """Let go of the connections."""
        self._client.close()

    def send(self, outgoing: Outgoing) -> Outcome:
        """Try once."""
        never = never_sent(outgoing, self._options, self._now())
        if never is not None:
            return never
        try:
            answer = self._client.send(self._request(outgoing))
        except (httpx.ConnectError, httpx.ConnectTimeout, httpx.PoolTimeout) as fault:
            return _away(f"the service does not answer ({type(fault).__name__})", SERVICE_WAIT_S)
        except RuntimeError:
            return Outcome(Became.LATER, "the channel is closed")
        except httpx.HTTPError as fault:
            return Outcome(
                Became.UNKNOWN, f"the service broke off before its answer ({type(fault).__name__})"
            )
        return self._became(answer, outgoing.key)

    def _request(self, outgoing: Outgoing) -> httpx.Request:
        options = self._options
        gsm = is_gsm(outgoing.text)
        until = outgoing.valid_until
        minutes = 0 if until is None else int((until - self._now()).total_seconds() // 60)
        values = {
            "to": outgoing.address,
            "to_bare": outgoing.address.removeprefix("+"),
            "text": outgoing.text,
            "key": outgoing.key,
            "token": options.token,
            "sender": options.sender,
            "valid_minutes": "" if until is None else str(max(1, minutes)),
            "alphabet": "gsm7" if gsm else "ucs2",
        }
        quoted = {name: quote(value, safe="") for name, value in values.items()}
        pairs = filled_all(self._fields + (() if gsm else self._unicode), values)
        headers = dict(filled_all(self._headers, values))
        content = b""
        if options.send_as == "form":
            content = form_body(pairs)
            headers.setdefault("Content-Type", "application/x-www-form-urlencoded")
        elif options.send_as == "json":
            content = json_body(pairs)
            headers.setdefault("Content-Type", "application/json")
        return self._client.build_request(
            options.send_method,
            filled(options.send_url, quoted) or options.send_url,
            content=content,
            headers=[(name.encode(), value.encode()) for name, value in headers.items()],
            params=pairs if options.send_as == "query" else None,
        )

    def _became(self, answer: httpx.Response, key: str) -> Outcome:
        status = answer.status_code
        # The answer's own words may repeat number and text: they are no part of the cause.
        cause = f"the service said {status}"
        if str(status) in self._accepted:
            tree = _tree(answer.text)
            if not self._says_accepted(answer.text, tree):
                return Outcome(Became.REFUSED, f"{cause}, but not that it accepts the message")
            named = found(tree, self._options.answer_id) if self._options.answer_id else ""
            return Outcome(Became.SENT, outside_id=named or key)
        if str(status) in self._refused:
            return Outcome(Became.REFUSED, cause)
        if status in (
            httpx.codes.UNAUTHORIZED,
            httpx.codes.PAYMENT_REQUIRED,
            httpx.codes.FORBIDDEN,
        ):
            return _away(f"{cause}; look at its credentials and credit", SETTINGS_WAIT_S)
        if status in (httpx.codes.TOO_MANY_REQUESTS, httpx.codes.SERVICE_UNAVAILABLE):
            return _away(cause, _wait_s(answer.headers))
        if status < 500:
            return _away(f"{cause}; look at the settings of sending", SETTINGS_WAIT_S)
        return Outcome(Became.UNKNOWN, cause)

    def _says_accepted(self, text: str, tree: Any) -> bool:
        written = self._options.accepted_answer
        if not written:
            return True
        if written.startswith("~"):
            return re.search(written[1:], text) is not None
        path, _, wanted = written.partition("=")
        return found(tree, path).lower() in words(wanted)


def _tree(text: str) -> Any:
    try:
        return json.loads(text)
    except ValueError:
        return None


def _wait_s(headers: Mapping[str, str]) -> float:
    """The seconds the service asks for; its other form, a date, counts as none."""
    asked = headers.get("Retry-After", "")
    return min(float(asked), LONGEST_WAIT_S) if asked.isdecimal() else SERVICE_WAIT_S


def _away(cause: str, wait_s: float) -> Outcome:
    return Outcome(Became.LATER, cause, retry_after_s=wait_s, whole_channel=True)
