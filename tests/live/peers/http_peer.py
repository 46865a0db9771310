"""A web service of a test's own: answers as told, and keeps what it was sent."""

from __future__ import annotations

import socket
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.error import HTTPError
from urllib.request import Request, urlopen


@dataclass(frozen=True)
class Asked:
    """One request it was sent."""

    method: str
    target: str
    headers: dict[str, str]
    body: bytes


@dataclass
class Answer:
    """What it answers; `drop` breaks the connection off instead."""

    status: int = 200
    body: str = ""
    headers: dict[str, str] = field(default_factory=dict)
    drop: bool = False


class HttpPeer(ThreadingHTTPServer):
    """`answers` says what to answer to a request."""

    daemon_threads = True
    request_queue_size = 128

    def __init__(self, answers: Callable[[Asked], Answer] | None = None, *, port: int = 0) -> None:
        self.answers = answers or (lambda _: Answer())
        self.asked: list[Asked] = []
        self.took: list[Asked] = []
        super().__init__(("127.0.0.1", port), _Handler)
        self._thread = threading.Thread(target=self.serve_forever, args=(0.02,), daemon=True)
        self._thread.start()

    @property
    def port(self) -> int:
        return int(self.server_address[1])

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def handle_error(self, request: object, client_address: object) -> None:
        """A caller that hangs up is no news."""

    def close(self) -> None:
        self.shutdown()
        self.server_close()
        self._thread.join()


class _Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    server: HttpPeer

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers.get("Content-Length", "0")))
        headers = {name.lower(): value for name, value in self.headers.items()}
        asked = Asked(self.command, self.path, headers, body)
        self.server.asked.append(asked)
        answer = self.server.answers(asked)
        if answer.status < 300:
            self.server.took.append(asked)
        if answer.drop:
            self.close_connection = True
            self.connection.shutdown(socket.SHUT_RDWR)
            return
        octets = answer.body.encode()
        self.send_response(answer.status)
        for name, value in answer.headers.items():
            self.send_header(name, value)
        self.send_header("Content-Length", str(len(octets)))
        self.end_headers()
        self.wfile.write(octets)

    def do_GET(self) -> None:
        self.do_POST()

    def do_PUT(self) -> None:
        self.do_POST()

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - the library's name
        """Nothing."""


def call(url: str, body: bytes | None = None, headers: dict[str, str] | None = None) -> int:
    """The status of a call, posted if it has a body; 0 where the connection broke."""
    request = Request(url, data=body, headers=headers or {})  # noqa: S310 - loopback
    try:
        with urlopen(request, timeout=10) as answer:  # noqa: S310 - loopback
            return int(answer.status)
    except HTTPError as fault:
        fault.close()
        return fault.code
    except OSError:
        return 0
