"""The webhook: Telegram calls us, and hears 200 only after the commit.

Served by the standard library in threads: it stands behind a proxy that speaks TLS, Telegram is
told to hold one connection, and a commit is what takes the time. A web framework would add a
dependency and no guarantee.
"""

from __future__ import annotations

import hmac
import json
import logging
import socket
from collections.abc import Callable
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import BoundedSemaphore, Thread
from typing import Any

from bot.channels.telegram.options import PREFIX
from bot.settings import SettingsError

LOG = logging.getLogger(__name__)

SECRET_HEADER = "X-Telegram-Bot-Api-Secret-Token"  # noqa: S105 - the header's name

LONGEST_BODY = 1 << 20
"""Bytes. An update is a few thousand."""

CONNECTIONS = 16
"""Open at once, ours and strangers' together."""

IDLE_S = 10.0
"""A connection that says nothing for so long is closed."""

Take = Callable[[object], None]
"""Commits one update, or raises."""


class Webhook(ThreadingHTTPServer):
    """Listens from the moment it is made; answers 500 until it is handed where to put updates."""

    daemon_threads = True
    block_on_close = False
    request_queue_size = 2 * CONNECTIONS

    def __init__(self, listen: tuple[str, int], secret: str) -> None:
        self.secret = secret.encode()
        self.take: Take | None = None
        self._slots = BoundedSemaphore(CONNECTIONS)
        if ":" in listen[0]:
            self.address_family = socket.AF_INET6
        try:
            super().__init__(listen, Caller)
        except OSError as fault:
            where = f"{listen[0]}:{listen[1]}"
            raise SettingsError(
                f"{PREFIX}WEBHOOK_LISTEN: cannot listen at {where}: {fault.strerror}"
            ) from fault
        self._thread = Thread(
            target=self.serve_forever, args=(0.05,), name="telegram-webhook", daemon=True
        )
        self._thread.start()

    @property
    def port(self) -> int:
        """The port it listens at, where 0 was asked for."""
        return int(self.server_address[1])

    def process_request(self, request: Any, client_address: Any) -> None:
        """One thread a connection, up to a bound; past it the connection is closed at once."""
        if self._slots.acquire(blocking=False):
            super().process_request(request, client_address)
        else:
            self.shutdown_request(request)

    def process_request_thread(self, request: Any, client_address: Any) -> None:
        """The connection's own thread."""
        try:
            super().process_request_thread(request, client_address)
        finally:
            self._slots.release()

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A caller that hangs up is no news."""

    def close(self) -> None:
        """Take no more calls. One that is being committed goes on, and is heard of again."""
        self.take = None
        self.shutdown()
        self.server_close()
        self._thread.join()


class Caller(BaseHTTPRequestHandler):
    """One connection. Everything but a right secret is turned away before its body is read."""

    protocol_version = "HTTP/1.1"
    server_version = "Stirbell"
    sys_version = ""
    timeout = IDLE_S
    server: Webhook

    def do_POST(self) -> None:
        """Take one update: 403 a wrong secret, 500 any failure of ours, 200 after the commit."""
        given = self.headers.get(SECRET_HEADER, "").encode("utf-8", "surrogateescape")
        if not hmac.compare_digest(given, self.server.secret):
            self._say(HTTPStatus.FORBIDDEN, close=True)
            return
        length = self.headers.get("Content-Length", "")
        if not length.isdecimal() or int(length) > LONGEST_BODY:
            self._say(HTTPStatus.INTERNAL_SERVER_ERROR, close=True)
            return
        body = self.rfile.read(int(length))
        self._say(self._kept(body))

    def do_GET(self) -> None:
        """Nothing to see here."""
        self._say(HTTPStatus.NOT_FOUND, close=True)

    def _kept(self, body: bytes) -> HTTPStatus:
        take = self.server.take
        if take is None:
            return HTTPStatus.INTERNAL_SERVER_ERROR
        try:
            take(_loaded(body))
        except Exception as fault:  # noqa: BLE001 - whatever failed, Telegram is to try again
            LOG.warning("a message from Telegram could not be kept (%s)", type(fault).__name__)
            return HTTPStatus.INTERNAL_SERVER_ERROR
        return HTTPStatus.OK

    def _say(self, status: HTTPStatus, *, close: bool = False) -> None:
        self.send_response(status)
        self.send_header("Content-Length", "0")
        if close:
            self.send_header("Connection", "close")
        self.end_headers()

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - the library's name
        """Nothing: addresses of callers do not belong in a log."""


def _loaded(body: bytes) -> object:
    """The update; a body that is no JSON comes back as its text, to be set aside as it is."""
    try:
        return json.loads(body)
    except ValueError:
        return body.decode("utf-8", "replace")
