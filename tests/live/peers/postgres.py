"""A PostgreSQL of the test's own, on a socket in a temporary folder."""

from __future__ import annotations

import importlib.util
import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.live.peers.installed import wanted_in_full


@dataclass(frozen=True)
class Server:
    """A running server; `place` is the folder of its socket, the user postgres, no password."""

    place: Path
    commands: Path
    become: tuple[int, int] | None

    def stop(self) -> None:
        """Take it away, as an upgrade or a power cut of its machine would."""
        self._run("pg_ctl", "-D", self.base, "-m", "immediate", "stop")

    def start(self) -> None:
        quick = f"-c listen_addresses='' -c unix_socket_directories={self.place} -c fsync=off"
        self._run("pg_ctl", "-D", self.base, "-w", "-l", f"{self.place}/log", "-o", quick, "start")

    def make(self) -> None:
        words = ["-U", "postgres", "-A", "trust", "-E", "UTF8", "--locale=C", "-N"]
        self._run("initdb", "-D", self.base, *words)

    @property
    def base(self) -> str:
        return f"{self.place}/base"

    def _run(self, *words: str) -> None:
        user, group = self.become or (None, None)
        subprocess.run(
            [str(self.commands / words[0]), *words[1:]],
            check=True,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            cwd=self.place,
            user=user,
            group=group,
        )


def binaries() -> Path | None:
    """The newest server's commands: this machine's packages, its path, or pip's `pgserver`."""
    found = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3])
    )
    if found:
        return found[-1].parent
    on_path = shutil.which("initdb")
    if on_path:
        return Path(on_path).resolve().parent
    wheel = importlib.util.find_spec("pgserver")
    if wheel is None or wheel.origin is None:
        return None
    return Path(wheel.origin).parent / "pginstall" / "bin"


def _other_user() -> tuple[int, int]:
    """Whom root becomes: PostgreSQL refuses to run as root."""
    known = {user.pw_name: user for user in pwd.getpwall()}
    user = known.get("postgres") or known["nobody"]
    return user.pw_uid, user.pw_gid


@contextmanager
def server() -> Iterator[Server]:
    """A server of the test's own; the durability of the machine itself is left out (no fsync)."""
    commands = binaries()
    if commands is None:
        said = "needs a PostgreSQL server (a package, or pip install pgserver)"
        if wanted_in_full():
            pytest.fail(f"a full run skips nothing: it {said}")
        pytest.skip(f"NOT RUN: {said}")
    place = Path(tempfile.mkdtemp(prefix="stirbell-pg-"))
    become = None
    if os.getuid() == 0:
        become = _other_user()
        os.chown(place, *become)
        place.chmod(0o755)
    found = Server(place, commands, become)
    found.make()
    found.start()
    try:
        yield found
    finally:
        found.stop()
        shutil.rmtree(place)
