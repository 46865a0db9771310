"""A PostgreSQL of the test's own, on a socket in a temporary folder."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest


def binaries() -> Path | None:
    """The newest server's commands on this machine."""
    found = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3])
    )
    return found[-1].parent if found else None


@contextmanager
def server() -> Iterator[Path]:
    """The folder of its socket; the user is postgres, the password none."""
    folder = binaries()
    if folder is None:
        pytest.skip("NOT RUN: needs a PostgreSQL server")
    place = Path(tempfile.mkdtemp(prefix="stirbell-pg-"))
    become: dict[str, int] = {}
    if os.getuid() == 0:
        user = pwd.getpwnam("postgres")
        os.chown(place, user.pw_uid, user.pw_gid)
        place.chmod(0o755)
        become = {"user": user.pw_uid, "group": user.pw_gid}

    def run(*words: str) -> None:
        subprocess.run(
            [str(folder / words[0]), *words[1:]],
            check=True,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            cwd=place,
            user=become.get("user"),
            group=become.get("group"),
        )

    base = str(place / "base")
    run("initdb", "-D", base, "-U", "postgres", "-A", "trust", "-E", "UTF8", "--locale=C", "-N")
    quick = f"-c listen_addresses='' -c unix_socket_directories={place} -c fsync=off"
    run("pg_ctl", "-D", base, "-w", "-l", str(place / "log"), "-o", quick, "start")
    try:
        yield place
    finally:
        run("pg_ctl", "-D", base, "-m", "immediate", "stop")
        shutil.rmtree(place)
