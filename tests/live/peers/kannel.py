"""The real Kannel, on the example configuration of deploy/kannel with its names filled in."""

from __future__ import annotations

import re
import socket
import sqlite3
import subprocess
import time
from pathlib import Path
from urllib.request import urlopen

from tests.contract.seam import until
from tests.live.peers.installed import command, need

PACKAGES = ("kannel", "kannel-extras")
EXAMPLE = Path(__file__).parents[3] / "deploy" / "kannel" / "kannel.conf"


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Kannel:
    """Both boxes. `carrier` are the lines of an smsc group in place of the example's."""

    def __init__(self, folder: Path, bot_port: int, carrier: str = "", **changed: str) -> None:
        need(("bearerbox", "smsbox"), PACKAGES)
        self.folder = folder
        (folder / "store").mkdir(parents=True)
        self.admin_port, self.box_port, self.send_port = (free_port() for _ in range(3))
        reports = sqlite3.connect(folder / "reports.sqlite")
        reports.execute(
            "create table dlr (smsc text, ts text, destination text, source text, service text,"
            " url text, mask integer, status integer, boxc text)"
        )
        reports.close()
        text = EXAMPLE.read_text()
        if carrier:
            start = text.index("group = smsc\n")
            text = text[:start] + carrier + "\n" + text[text.index("group = smsbox") :]
        filled = {
            "13000": str(self.admin_port),
            "13001": str(self.box_port),
            "13013": str(self.send_port),
            "8080": str(bot_port),
            "ADMIN-PASSWORD": "adm",
            "SENDSMS-PASSWORD": "pw",
            '"SENDER"': "55555",
            "/var/spool/kannel": str(folder),
            "/var/log/kannel": str(folder),
            "http-queue-delay = 10": "http-queue-delay = 1",
            **changed,
        }
        for name, value in filled.items():
            assert name in text, name
            text = text.replace(name, value)
        # The boxes of one machine find each other through smsbox-port, which has no line there.
        text = re.sub(
            r"(bearerbox-host = 127.0.0.1)", rf"\1\nbearerbox-port = {self.box_port}", text
        )
        self._configuration = folder / "kannel.conf"
        self._configuration.write_text(text)
        self._bearerbox: subprocess.Popen[bytes] | None = None
        self._smsbox: subprocess.Popen[bytes] | None = None

    @property
    def send_url(self) -> str:
        return f"http://127.0.0.1:{self.send_port}/cgi-bin/sendsms"

    def start(self) -> None:
        self.start_bearerbox()
        self.start_smsbox()

    def start_bearerbox(self) -> None:
        self._bearerbox = self._run("bearerbox")
        assert until(lambda: _listens(self.box_port), within_s=10), self.log()

    def start_smsbox(self) -> None:
        self._smsbox = self._run("smsbox")
        assert until(lambda: _listens(self.send_port), within_s=10), self.log()

    def _run(self, box: str) -> subprocess.Popen[bytes]:
        found = command(box)
        assert found is not None
        with (self.folder / f"{box}.out").open("ab") as out:
            return subprocess.Popen(
                [found, "-v", "2", str(self._configuration)],
                stdout=out,
                stderr=out,
                cwd=self.folder,
            )

    def kill_bearerbox(self) -> None:
        _end(self._bearerbox, hard=True)
        self._bearerbox = None

    def kill_smsbox(self) -> None:
        _end(self._smsbox, hard=True)
        self._smsbox = None

    def stop(self) -> None:
        for box in (self._smsbox, self._bearerbox):
            _end(box, hard=True)
        self._smsbox = self._bearerbox = None

    def status(self) -> str:
        with urlopen(f"http://127.0.0.1:{self.admin_port}/status.txt?password=adm") as answer:
            return str(answer.read().decode())

    def log(self) -> str:
        return "\n".join(
            path.read_text("utf-8", "replace")[-3000:]
            for path in sorted(self.folder.glob("*.out")) + sorted(self.folder.glob("*.log"))
        )


def _listens(port: int) -> bool:
    with socket.socket() as probe:
        probe.settimeout(0.2)
        listens = probe.connect_ex(("127.0.0.1", port)) == 0
    if not listens:
        time.sleep(0.02)
    return listens


def _end(process: subprocess.Popen[bytes] | None, *, hard: bool) -> None:
    if process is not None:
        process.kill() if hard else process.terminate()
        process.wait()
