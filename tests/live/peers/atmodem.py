"""A modem of our own on a pseudo-terminal, in PDU mode.

Its AT commands are those of 3GPP TS 27.005 and 27.007 that the daemon's real driver uses, so what
goes on the air can be read and failures forced.
"""

from __future__ import annotations

import os
import pty
import re
import select
import threading
import tty
from collections.abc import Callable
from pathlib import Path

from tests.live.peers import pdus

PLAIN_OK = (
    "AT",
    "ATE",
    "ATZ",
    "ATV",
    "AT+CMEE",
    "AT+CSCS=",
    "AT+CMGF=",
    "AT+CNMI=",
    "AT+CSMS=",
    "AT+CREG=",
    "AT+CGREG=",
    "AT+COPS=3",
    "AT+CMMS",
    "AT+CLIP=",
    "AT+CUSD=",
    "AT+CRC=",
    "AT+CCWA=",
)
ANSWERS = {
    "AT+CGMI": "Peer",
    "AT+CGMM": "PTYPHONE",
    "ATI": "PTYPHONE",
    "AT+CGMR": "1",
    "AT+CGSN": "490154203237518",
    "AT+CIMI": "404000000000001",
    "AT+CPIN?": "+CPIN: READY",
    "AT+CSCS=?": '+CSCS: ("GSM","UCS2","HEX")',
    "AT+CSCS?": '+CSCS: "GSM"',
    "AT+CMGF=?": "+CMGF: (0,1)",
    "AT+CSMS?": "+CSMS: 1,1,1,1",
    "AT+CPMS=?": '+CPMS: ("SM"),("SM"),("SM")',
    "AT+CSCA?": '+CSCA: "+910000000000",145',
    "AT+CNMI=?": "+CNMI: (0,1,2),(0,1,2,3),(0),(0,1,2),(0,1)",
    "AT+CSQ": "+CSQ: 20,0",
    "AT+CBC": "+CBC: 0,80",
    "AT+CREG?": '+CREG: 2,1,"1A2B","00C3"',
    "AT+CGREG?": "+CGREG: 0,1",
    "AT+CGATT?": "+CGATT: 1",
    "AT+COPS?": '+COPS: 0,2,"40400"',
    "AT+CFUN?": "+CFUN: 1",
}
PLACES = 99


class Modem:
    """One simulated modem; `port` is the device the daemon opens."""

    def __init__(self) -> None:
        self._ours, theirs = pty.openpty()
        tty.setraw(self._ours)
        tty.setraw(theirs)
        self._theirs = theirs
        self.port = Path(os.ttyname(theirs))
        self.sent: list[pdus.Submit] = []
        self.refused: list[pdus.Submit] = []
        self.fail_with: Callable[[pdus.Submit], int | None] = lambda _: None
        self.report_with: int | None = None
        self.reply_lost = False
        self.hung_up = 0
        self.log: list[str] = []
        self._memory: dict[int, str] = {}
        self._air: list[str] = []
        self._reference = 0
        self._expecting = False
        self._open = True
        self._lock = threading.Lock()
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def receive(self, *messages: str) -> None:
        """PDUs come over the air; they enter the SIM when the daemon next looks."""
        with self._lock:
            self._air.extend(messages)

    def ring(self, number: str, rings: int = 1) -> None:
        """A call comes in and shows its number."""
        for _ in range(rings):
            self._say("RING")
            self._say(f'+CLIP: "{number}",145,"",0,"",0')

    def close(self) -> None:
        self._open = False
        self._thread.join(timeout=5)
        os.close(self._ours)
        os.close(self._theirs)

    def _say(self, *lines: str) -> None:
        for line in lines:
            self.log.append(f"< {line}")
            os.write(self._ours, f"\r\n{line}\r\n".encode())

    def _run(self) -> None:
        line = b""
        while self._open:
            ready, _, _ = select.select([self._ours], [], [], 0.1)
            if not ready:
                continue
            for octet in os.read(self._ours, 4096):
                if octet in (0x1A, 0x1B):
                    if self._expecting and octet == 0x1A:
                        self._submitted(line.decode("ascii"))
                    self._expecting, line = False, b""
                elif octet in b"\r\n" and not self._expecting:
                    if line.strip():
                        self._command(line.decode("latin-1").strip())
                    line = b""
                elif octet not in b"\r\n":
                    line += bytes([octet])

    def _submitted(self, pdu: str) -> None:
        message = pdus.submit(pdu, (self._reference + 1) % 256)
        code = self.fail_with(message)
        if code is not None:
            self.refused.append(message)
            self._say(f"+CMS ERROR: {code}")
            return
        self._reference = message.reference
        self.sent.append(message)
        if self.reply_lost:
            return
        self._say(f"+CMGS: {message.reference}", "OK")
        if self.report_with is not None and message.wants_report:
            self.receive(
                pdus.status_report(
                    message.reference, message.number, pdus.centre_now(), self.report_with
                )
            )

    def _command(self, command: str) -> None:
        self.log.append(f"> {command}")
        # The driver takes the echo as the answer's beginning; without one it waits in vain.
        os.write(self._ours, f"{command}\r".encode())
        upper = command.upper()
        if upper in ANSWERS:
            self._say(ANSWERS[upper], "OK")
        elif upper.startswith(("AT+CPMS", "AT+CMG")) and not upper.startswith("AT+CMGF"):
            self._memory_command(upper)
        elif upper in ("ATH", "AT+CHUP"):
            self.hung_up += 1
            self._say("OK")
        elif upper.startswith(PLAIN_OK) and not upper.endswith("=?"):
            self._say("OK")
        else:
            self._say("ERROR")

    def _memory_command(self, upper: str) -> None:
        with self._lock:
            for message in self._air:
                free = next(n for n in range(1, PLACES) if n not in self._memory)
                self._memory[free] = message
            self._air.clear()
        count = len(self._memory)
        place = int((re.search(r"=(\d+)", upper) or [0, 0])[1])
        if upper.startswith("AT+CMGS="):
            self._expecting = True
            os.write(self._ours, b"\r\n> ")
            return
        if upper.startswith("AT+CPMS"):
            name = '"SM",' if upper.endswith("?") else ""
            self._say("+CPMS: " + ",".join([f"{name}{count},{PLACES}"] * 3))
        elif upper.startswith("AT+CMGL"):
            for number, message in sorted(self._memory.items()):
                self._say(f"+CMGL: {number},0,,{_length(message)}\r\n{message}")
        elif upper.startswith("AT+CMGR") and place not in self._memory:
            self._say("+CMS ERROR: 321")
            return
        elif upper.startswith("AT+CMGR"):
            kept = self._memory[place]
            self._say(f"+CMGR: 0,,{_length(kept)}\r\n{kept}")
        else:
            self._memory.pop(place, None)
        self._say("OK")


def _length(pdu: str) -> int:
    """Octets after the centre's address, as AT counts them."""
    return len(pdu) // 2 - 1 - int(pdu[:2], 16)
