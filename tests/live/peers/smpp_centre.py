"""A message centre of our own that speaks SMPP 3.4, as much of it as a gateway uses.

Source of the layouts: SMPP Protocol Specification v3.4, sections 3.2, 4 and 5 (from memory; the
gateway's own driver, which is another hand's work, reads and writes them here).
"""

from __future__ import annotations

import socket
import struct
import threading
from dataclasses import dataclass

import gsm0338

GSM = gsm0338.Codec()

RESPONSE = 0x80000000
BIND_RECEIVER, BIND_TRANSMITTER, BIND_TRANSCEIVER = 1, 2, 9
SUBMIT, DELIVER, UNBIND, ENQUIRE = 4, 5, 6, 0x15

THROTTLED, INVALID_DESTINATION, QUEUE_FULL = 0x58, 0x0B, 0x14

WITH_HEADER, IS_RECEIPT = 0x40, 0x04
UCS2 = 8


@dataclass(frozen=True)
class Submitted:
    """One SMS that the gateway gave to the centre."""

    sender: str
    to: str
    coding: int
    header: bytes
    body: bytes
    validity: str
    wants_receipt: bool

    @property
    def text(self) -> str:
        return (
            self.body.decode("utf-16-be") if self.coding == UCS2 else str(GSM.decode(self.body)[0])
        )


class SmppCentre:
    """`refuse_with` is the status of the next submits; `receipts` their final state, if any."""

    def __init__(self) -> None:
        self.got: list[Submitted] = []
        self.refuse_with = 0
        self.receipts = "DELIVRD"
        self.bound = 0
        self.acknowledged: dict[int, int] = {}
        """What was answered to each message that was handed over, by its number."""
        self._sequence = 1000
        self._links: list[socket.socket] = []
        self._lock = threading.Lock()
        self._listening = socket.create_server(("127.0.0.1", 0))
        self._listening.settimeout(0.1)
        self._open = True
        self._threads = [threading.Thread(target=self._accept, daemon=True)]
        self._threads[0].start()

    @property
    def port(self) -> int:
        return int(self._listening.getsockname()[1])

    def says(self, sender: str, to: str, body: bytes, coding: int = 0, header: bytes = b"") -> int:
        """A subscriber's SMS comes in; the number under which it is handed over."""
        octets = bytes([len(header), *header]) + body if header else body
        return self._deliver(sender, to, WITH_HEADER if header else 0, coding, octets)

    def drop(self) -> None:
        """Break every link off."""
        with self._lock:
            for link in self._links:
                link.shutdown(socket.SHUT_RDWR)

    def close(self) -> None:
        self._open = False
        for thread in self._threads:
            thread.join()
        self._listening.close()

    def _accept(self) -> None:
        while self._open:
            try:
                link, _ = self._listening.accept()
            except TimeoutError:
                continue
            with self._lock:
                self._links.append(link)
            thread = threading.Thread(target=self._serve, args=(link,), daemon=True)
            self._threads.append(thread)
            thread.start()

    def _serve(self, link: socket.socket) -> None:
        link.settimeout(0.1)
        rest = b""
        while self._open:
            try:
                came = link.recv(65536)
            except TimeoutError:
                continue
            except OSError:
                break
            if not came:
                break
            rest += came
            while len(rest) >= 16 and len(rest) >= (length := int.from_bytes(rest[:4], "big")):
                self._pdu(link, rest[:length])
                rest = rest[length:]
        with self._lock:
            self._links.remove(link)
        link.close()

    def _pdu(self, link: socket.socket, pdu: bytes) -> None:
        _, command, status, sequence = struct.unpack(">IIII", pdu[:16])
        if command in (BIND_RECEIVER, BIND_TRANSMITTER, BIND_TRANSCEIVER):
            self.bound += 1
            self._send(link, command | RESPONSE, 0, sequence, b"centre\0")
        elif command == SUBMIT and self.refuse_with:
            self._send(link, SUBMIT | RESPONSE, self.refuse_with, sequence, b"")
        elif command == SUBMIT:
            message = _submitted(pdu[16:])
            self.got.append(message)
            name = f"m{len(self.got)}"
            self._send(link, SUBMIT | RESPONSE, 0, sequence, name.encode() + b"\0")
            if self.receipts and message.wants_receipt:
                self._receipt(message, name)
        elif command == DELIVER | RESPONSE:
            self.acknowledged[sequence] = status
        elif command in (ENQUIRE, UNBIND):
            self._send(link, command | RESPONSE, 0, sequence, b"")

    def _receipt(self, message: Submitted, name: str) -> None:
        done = "001" if self.receipts == "DELIVRD" else "000"
        text = (
            f"id:{name} sub:001 dlvrd:{done} submit date:2603020700 done date:2603020701"
            f" stat:{self.receipts} err:000 text:"
        )
        self._deliver(message.to, message.sender, IS_RECEIPT, 0, text.encode())

    def _deliver(self, sender: str, to: str, kind: int, coding: int, octets: bytes) -> int:
        body = (
            b"\0"
            + _address(sender)
            + _address(to)
            + bytes([kind, 0, 0])
            + b"\0\0"
            + bytes([0, 0, coding, 0, len(octets)])
            + octets
        )
        with self._lock:
            self._sequence += 1
            sequence, link = self._sequence, self._links[-1]
        self._send(link, DELIVER, 0, sequence, body)
        return sequence

    def _send(
        self, link: socket.socket, command: int, status: int, sequence: int, body: bytes
    ) -> None:
        link.sendall(struct.pack(">IIII", 16 + len(body), command, status, sequence) + body)


def _address(number: str) -> bytes:
    international = number.startswith("+")
    return bytes([1 if international else 0, 1]) + number.lstrip("+").encode() + b"\0"


def _submitted(body: bytes) -> Submitted:
    at = 0

    def text() -> str:
        nonlocal at
        end = body.index(b"\0", at)
        found, at = body[at:end].decode("latin-1"), end + 1
        return found

    def octet() -> int:
        nonlocal at
        at += 1
        return body[at - 1]

    text()
    octet(), octet()
    sender = text()
    octet(), octet()
    to = text()
    kind = octet()
    octet(), octet()
    text()
    validity = text()
    wants = octet()
    octet()
    coding = octet()
    octet()
    length = octet()
    octets = body[at : at + length]
    header = octets[1 : 1 + octets[0]] if kind & WITH_HEADER else b""
    content = octets[1 + octets[0] :] if kind & WITH_HEADER else octets
    return Submitted(sender, to, coding, header, content, validity, bool(wants & 3))
