from __future__ import annotations

import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.live.peers.sqlite_door import SqliteDoor
from tests.live.peers.telegram_double import Double


@pytest.fixture
def door(tmp_path: Path) -> Iterator[SqliteDoor]:
    door = SqliteDoor(tmp_path / "door.sqlite")
    yield door
    door.close()


@pytest.fixture
def double() -> Iterator[Double]:
    with Double() as double:
        yield double


@pytest.fixture
def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
