"""The other end of Kannel's fake carrier: lines `sender receiver type data` on a socket."""

from __future__ import annotations

import socket
import threading
from dataclasses import dataclass
from urllib.parse import unquote_to_bytes

from tests.contract.seam import until


@dataclass(frozen=True)
class Carried:
    """One SMS that reached the carrier: its octets and its header."""

    sender: str
    to: str
    kind: str
    body: bytes
    header: bytes = b""


class Carrier:
    """Connects to bearerbox as its carrier."""

    def __init__(self, port: int) -> None:
        self.got: list[Carried] = []
        self._port = port
        self._socket: socket.socket | None = None
        self._thread: threading.Thread | None = None
        self.connect()

    def connect(self) -> None:
        connected: list[socket.socket] = []

        def tried() -> bool:
            try:
                connected.append(socket.create_connection(("127.0.0.1", self._port), timeout=0.5))
            except OSError:
                return False
            return True

        assert until(tried, within_s=10)
        self._socket = connected[0]
        self._socket.settimeout(0.1)
        self._thread = threading.Thread(target=self._read, args=(self._socket,), daemon=True)
        self._thread.start()

    def says(self, sender: str, to: str, text: str) -> None:
        """A short text of the default alphabet comes in; no other can, by this protocol."""
        self._line(f"{sender} {to} text {text}")

    def _line(self, line: str) -> None:
        assert self._socket is not None
        self._socket.sendall(line.encode() + b"\n")

    def close(self) -> None:
        if self._socket is not None and self._thread is not None:
            self._socket.close()
            self._thread.join()
            self._socket = None

    def _read(self, ours: socket.socket) -> None:
        rest = b""
        while True:
            try:
                came = ours.recv(65536)
            except TimeoutError:
                continue
            except OSError:
                return
            if not came:
                return
            *lines, rest = (rest + came).split(b"\n")
            for line in lines:
                self.got.append(_read_line(line))


def _read_line(line: bytes) -> Carried:
    sender, to, kind, *data = line.decode("latin-1").split(" ")
    if kind == "text":
        return Carried(sender, to, kind, " ".join(data).encode("latin-1"))
    header = unquote_to_bytes(data[0]) if kind == "udh" else b""
    return Carried(sender, to, kind, unquote_to_bytes(data[-1].replace("+", " ")), header)
