"""A small HTTP listener for channels that are called: 200 is said only after the work is done.

By the standard library, in threads: it stands on loopback or behind a proxy that speaks TLS, and a
commit is what takes the time. A web framework would add a dependency and no guarantee.
"""

from __future__ import annotations

import hmac
import logging
import socket
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import BoundedSemaphore, Thread
from typing import Any
from urllib.parse import parse_qsl, urlsplit

from bot.settings import SettingsError

LOG = logging.getLogger(__name__)

LONGEST_BODY = 1 << 20
"""Octets; a message with everything a service adds to it is a few thousand."""


@dataclass(frozen=True, slots=True)
class Patience:
    """How many connections may be open at once, and how long one may say nothing.

    What stands here holds strangers off. A caller of our own, on the same machine, may be given
    more: one that is cut off has to come again.
    """

    connections: int = 64
    idle_s: float = 10.0


class Turned(Exception):  # noqa: N818 - a caller turned away is no error of ours
    """The caller is turned away; says with which status."""

    def __init__(self, status: HTTPStatus) -> None:
        super().__init__(status.phrase)
        self.status = status


@dataclass(frozen=True, slots=True)
class Call:
    """One call as it came. Names of headers are in small letters."""

    method: str
    target: str
    body: bytes = b""
    headers: Mapping[str, str] = field(default_factory=dict)

    @property
    def path(self) -> str:
        """The target without its query."""
        return urlsplit(self.target).path

    def query(self) -> dict[str, bytes]:
        r"""The fields of the query, in octets: what they are written in, only the caller knows.

        >>> Call("GET", "/in?text=%CE%94&from=%2B254").query()
        {'text': b'\xce\x94', 'from': b'+254'}
        """
        return fields(urlsplit(self.target).query)


def fields(encoded: str) -> dict[str, bytes]:
    """The fields of a query or a form, in octets; the first of a name that comes twice.

    Raises:
        Turned: there are more than anybody means.
    """
    try:
        pairs = parse_qsl(encoded, keep_blank_values=True, encoding="latin-1", max_num_fields=200)
    except ValueError:
        raise Turned(HTTPStatus.BAD_REQUEST) from None
    found: dict[str, bytes] = {}
    for name, value in pairs:
        found.setdefault(name, value.encode("latin-1", "replace"))
    return found


def same(given: str | bytes, wanted: str | bytes) -> bool:
    """Whether two secrets are the same, in a time that does not tell how far they agree.

    An empty secret is the same as nothing.
    """
    left, right = _octets(given), _octets(wanted)
    return hmac.compare_digest(left, right) and bool(right)


def _octets(value: str | bytes) -> bytes:
    return value.encode("utf-8", "backslashreplace") if isinstance(value, str) else value


Take = Callable[[Call], None]
"""Does the work and commits it, or raises: `Turned` for the caller's fault, else it is ours."""

Admits = Callable[[Mapping[str, str]], bool]
"""Whether a caller of such headers may say anything; names of headers are in small letters."""

ANYWHERE = ""
"""The route of every path that has none of its own."""


def address(listen: str, variable: str) -> tuple[str, int]:
    """Host and port of `host:port`.

    Raises:
        SettingsError: it is none; names the variable.

    >>> address("127.0.0.1:8080", "STIRBELL_GATEWAY_LISTEN")
    ('127.0.0.1', 8080)
    """
    host, _, port = listen.rpartition(":")
    if not host or not port.isdecimal() or int(port) > 65535:
        raise SettingsError(f"{variable} is not host:port, as 127.0.0.1:8080")
    return host.strip("[]"), int(port)


class Listener(ThreadingHTTPServer):
    """Listens from the moment it is made. `routes` are paths and what takes their calls.

    Who posts and is not admitted is turned away before the body is read.
    """

    daemon_threads = True
    block_on_close = False
    request_queue_size = 128

    def __init__(
        self,
        listen: str,
        variable: str,
        routes: Mapping[str, Take],
        patience: Patience = Patience(),
        admits: Admits = lambda _headers: True,
    ) -> None:
        host, port = address(listen, variable)
        self.patience = patience
        self.routes = dict(routes)
        self.admits = admits
        self._slots = BoundedSemaphore(patience.connections)
        if ":" in host:
            self.address_family = socket.AF_INET6
        try:
            super().__init__((host, port), _Caller)
        except OSError as fault:
            raise SettingsError(f"{variable}: cannot listen at {listen}: {fault}") from fault
        self._thread = Thread(
            target=self.serve_forever, args=(0.05,), name=f"listener-{self.port}", daemon=True
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
        """Take no more calls. What is being committed goes on, and is heard of again."""
        self.routes = {}
        self.shutdown()
        self.server_close()
        self._thread.join()


class _Caller(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    server_version = "Stirbell"
    sys_version = ""
    server: Listener

    def setup(self) -> None:
        super().setup()
        self.connection.settimeout(self.server.patience.idle_s)

    def do_GET(self) -> None:
        self._take(b"")

    def do_POST(self) -> None:
        if not self.server.admits(self._headers()):
            self._say(HTTPStatus.FORBIDDEN, close=True)
            return
        length = self.headers.get("Content-Length", "0")
        if not length.isdecimal() or int(length) > LONGEST_BODY:
            self._say(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, close=True)
            return
        self._take(self.rfile.read(int(length)))

    def _take(self, body: bytes) -> None:
        call = Call(self.command, self.path, body, self._headers())
        if not self.server.routes:
            self._say(HTTPStatus.INTERNAL_SERVER_ERROR, close=True)
            return
        take = self.server.routes.get(call.path) or self.server.routes.get(ANYWHERE)
        if take is None:
            self._say(HTTPStatus.NOT_FOUND, close=True)
            return
        try:
            take(call)
        except Turned as turned:
            self._say(turned.status)
        except Exception as fault:  # noqa: BLE001 - whatever failed, the caller is to try again
            LOG.warning("a call to %s could not be kept (%s)", call.path, type(fault).__name__)
            self._say(HTTPStatus.INTERNAL_SERVER_ERROR)
        else:
            self._say(HTTPStatus.OK)

    def _headers(self) -> dict[str, str]:
        return {name.lower(): value for name, value in self.headers.items()}

    def _say(self, status: HTTPStatus, *, close: bool = False) -> None:
        self.send_response(status)
        self.send_header("Content-Length", "0")
        if close:
            self.send_header("Connection", "close")
        self.end_headers()

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - the library's name
        """Nothing: numbers and texts stand in what would be logged."""
