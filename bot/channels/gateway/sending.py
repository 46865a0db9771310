"""To Kannel's sendsms, and what it answers."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from urllib.parse import urlencode

import httpx

from bot.channels.gateway.options import Options
from bot.channels.gateway.receiving import DELIVERED, FAILED, REJECTED, key_written
from bot.messages import Became, Outcome, Outgoing
from bot.sms import never_sent
from bot.wording.segments import is_gsm

GSM, UCS2 = "0", "2"

GATEWAY_WAIT_S = 30.0

SETTINGS_WAIT_S = 300.0
"""Somebody must mend a setting first."""


class Sender:
    """Posts messages. From any thread."""

    def __init__(self, options: Options, report_url: str, now: Callable[[], datetime]) -> None:
        self._options = options
        self._report_url = report_url
        self._now = now
        # What the environment says of proxies is for the outside, and Kannel stands beside us.
        self._client = httpx.Client(timeout=options.timeout_s, trust_env=False)

    def close(self) -> None:
        """Let go of the connections."""
        self._client.close()

    def send(self, outgoing: Outgoing) -> Outcome:
        """Try once."""
        never = never_sent(outgoing, self._options, self._now())
        if never is not None:
            return never
        try:
            # Posted, so that number, text and password stand in headers and body: an address
            # would carry them into every log on the way.
            answer = self._client.post(
                self._options.send_url,
                content=outgoing.text.encode(),
                headers=self._headers(outgoing),
            )
        except (httpx.ConnectError, httpx.ConnectTimeout, httpx.PoolTimeout) as fault:
            return _away(f"the gateway does not answer ({type(fault).__name__})", GATEWAY_WAIT_S)
        except RuntimeError:
            return Outcome(Became.LATER, "the channel is closed")
        except httpx.TransportError as fault:
            return Outcome(
                Became.UNKNOWN, f"the gateway broke off before its answer ({type(fault).__name__})"
            )
        return _became(answer, outgoing.key)

    def _headers(self, outgoing: Outgoing) -> dict[str, str]:
        options = self._options
        headers = {
            "Content-Type": "text/plain; charset=UTF-8",
            "X-Kannel-Username": options.username,
            "X-Kannel-Password": options.password,
            "X-Kannel-To": outgoing.address,
            # Without this word, letters outside the default alphabet arrive as question marks.
            "X-Kannel-Coding": GSM if is_gsm(outgoing.text) else UCS2,
        }
        if options.sender:
            headers["X-Kannel-From"] = options.sender
        if outgoing.valid_until is not None:
            left = outgoing.valid_until - self._now()
            headers["X-Kannel-Validity"] = str(max(1, int(left.total_seconds() // 60)))
        if options.reports:
            named = urlencode({"secret": options.secret, "key": key_written(outgoing.key)})
            headers["X-Kannel-DLR-Mask"] = str(DELIVERED + FAILED + REJECTED)
            headers["X-Kannel-DLR-Url"] = f"{self._report_url}?{named}&type=%d&answer=%A"
        return headers


def _became(answer: httpx.Response, key: str) -> Outcome:
    said = " ".join(answer.text.split())[:200]
    status = answer.status_code
    cause = f"the gateway said {status}: {said}"
    if status in (httpx.codes.OK, httpx.codes.ACCEPTED):
        return Outcome(Became.SENT, outside_id=key)
    if status in (httpx.codes.UNAUTHORIZED, httpx.codes.FORBIDDEN, httpx.codes.NOT_FOUND):
        return _away(f"{cause}; look at its user, password and address", SETTINGS_WAIT_S)
    if status in (httpx.codes.SERVICE_UNAVAILABLE, httpx.codes.TOO_MANY_REQUESTS):
        return _away(cause, GATEWAY_WAIT_S)
    if 400 <= status < 500:
        return Outcome(Became.REFUSED, cause)
    return Outcome(Became.UNKNOWN, cause)


def _away(cause: str, wait_s: float) -> Outcome:
    return Outcome(Became.LATER, cause, retry_after_s=wait_s, whole_channel=True)
