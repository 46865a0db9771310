"""Real daemons for the live tests: there already, or installed where that is asked for."""

from __future__ import annotations

import fcntl
import os
import shutil
import subprocess
import tempfile
from pathlib import Path

import pytest

from bot.settings import environment

SBIN = "/usr/sbin:/usr/local/sbin:/sbin"


def command(name: str) -> str | None:
    """Where the command is, looked for in the administrator's folders too."""
    return shutil.which(name) or shutil.which(name, path=SBIN)


def wanted_in_full() -> bool:
    """Whether this run has to have everything: continuous integration, or asked for."""
    given = environment()
    return given.get("CI") == "true" or given.get("STIRBELL_FULL") == "1"


def need(commands: tuple[str, ...], packages: tuple[str, ...]) -> None:
    """Go on once the commands are there: install the packages in a full run, else skip loudly."""
    if all(command(name) or Path(name).exists() for name in commands):
        return
    if not wanted_in_full():
        pytest.skip(
            f"NOT RUN: needs {' '.join(packages)}; CI=true or STIRBELL_FULL=1 installs them"
        )
    lock_path = Path(tempfile.gettempdir()) / "stirbell-live-install.lock"
    with lock_path.open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if all(command(name) or Path(name).exists() for name in commands):
            return
        quiet = {**environment(), "DEBIAN_FRONTEND": "noninteractive"}
        as_root = [] if os.getuid() == 0 else ["sudo", "-n"]
        for step in (
            ["apt-get", "update", "-qq"],
            ["apt-get", "install", "-y", "-qq", "--no-install-recommends", *packages],
        ):
            done = subprocess.run([*as_root, *step], env=quiet, capture_output=True, check=False)
            assert done.returncode == 0, done.stderr.decode("utf-8", "replace")
