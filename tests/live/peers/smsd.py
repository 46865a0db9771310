"""The real gammu-smsd on a simulated modem, on the example configuration of deploy/gammu.

Its tables are in SQLite or PostgreSQL.
"""

from __future__ import annotations

import sqlite3
import subprocess
import time
from pathlib import Path

import psycopg

from bot.settings import environment
from tests.live.peers.atmodem import Modem
from tests.live.peers.installed import command, need

EXAMPLES = Path("/usr/share/doc/gammu-smsd/examples")
PACKAGES = ("gammu", "gammu-smsd", "libdbd-sqlite3")

DEPLOY = Path(__file__).parents[3] / "deploy" / "gammu"
HOOK = DEPLOY / "missed-call"


class Smsd:
    """One daemon; `start` and `kill` may be called again and again."""

    def __init__(
        self, folder: Path, modem: Modem, *, postgres: Path | None = None, retry_s: int = 1
    ) -> None:
        need(("gammu-smsd", str(EXAMPLES / "sqlite.sql")), PACKAGES)
        self.calls_dir = folder / "calls"
        self.calls_dir.mkdir()
        self._folder = folder
        self._process: subprocess.Popen[bytes] | None = None
        if postgres is None:
            base = sqlite3.connect(folder / "smsd.db")
            base.executescript((EXAMPLES / "sqlite.sql").read_text())
            base.close()
            self.address = f"sqlite:///{folder / 'smsd.db'}"
            text = (DEPLOY / "smsdrc").read_text()
        else:
            name = f"smsd_{time.monotonic_ns()}"
            server = f"host={postgres} user=postgres"
            with psycopg.connect(server, autocommit=True) as base_:
                base_.execute(f'create database "{name}"'.encode())
            schema = (EXAMPLES / "pgsql.sql").read_text().replace("CREATE LANGUAGE plpgsql;", "")
            with psycopg.connect(f"{server} dbname={name}") as base_:
                base_.execute(schema.encode())
            self.address = f"postgresql+psycopg://postgres@/{name}?host={postgres}"
            only = (DEPLOY / "smsdrc.postgresql").read_text().partition("[smsd]\n")[2]
            other = only.replace("127.0.0.1", str(postgres)).replace("USER", "postgres")
            other = other.replace("password = PASSWORD\n", "").replace("= smsd\n", f"= {name}\n")
            text = (DEPLOY / "smsdrc").read_text()
            start, end = text.index("service = sql"), text.index("# The same name in")
            text = text[:start] + other + text[end:]
        filled = {
            "/dev/serial/by-id/MODEM": str(modem.port),
            "/usr/local/lib/stirbell/missed-call": str(HOOK),
            "retrytimeout = 10": f"retrytimeout = {retry_s}",
            "multiparttimeout = 60": "multiparttimeout = 3",
            "receivefrequency = 5": "receivefrequency = 1",
            "statusfrequency = 60": "statusfrequency = 0\nloopsleep = 0\nsendtimeout = 5",
            "checkbattery = 0": "checkbattery = 0\nchecksignal = 0\nchecknetwork = 0",
            "resetfrequency = 0\nhard": "commtimeout = 1\nresetfrequency = 0\nhard",
            "logfile = syslog": f"logfile = {folder}/smsd.log",
            "debuglevel = 0": "debuglevel = 1",
        }
        if postgres is None:
            filled["/var/lib/gammu/"] = f"{folder}/"
        for name, value in filled.items():
            assert name in text, name
            text = text.replace(name, value)
        self._configuration = folder / "smsdrc"
        self._configuration.write_text(text)

    def start(self, zone: str = "UTC") -> None:
        """Run it; `zone` is the zone of its clock."""
        daemon = command("gammu-smsd")
        assert daemon is not None
        with (self._folder / "out.log").open("ab") as log:
            self._process = subprocess.Popen(
                [daemon, "-c", str(self._configuration)],
                env={
                    **environment(),
                    "LC_ALL": "C.UTF-8",
                    "TZ": zone,
                    "STIRBELL_CALLS_DIR": str(self.calls_dir),
                },
                stdout=log,
                stderr=log,
            )

    def kill(self) -> None:
        """End it as a power cut would."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None

    def query(self, what: str) -> list[tuple[object, ...]]:
        """Rows of its tables, on SQLite."""
        base = sqlite3.connect(self.address.removeprefix("sqlite:///"), timeout=20)
        try:
            return base.execute(what).fetchall()
        finally:
            base.close()

    def log(self) -> str:
        return (self._folder / "smsd.log").read_text("utf-8", "replace")
