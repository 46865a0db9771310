"""Both stores, for every test that must hold over each: SQLite in a file, PostgreSQL for real."""

from __future__ import annotations

import itertools
import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest

from bot.records.store import Store
from bot.settings import environment
from tests.live.peers import postgres


def counted() -> Callable[[], str]:
    """Identities that repeat from run to run, and differ between processes of one run."""
    numbers = itertools.count(1)
    return lambda: f"{os.getpid():06x}{next(numbers):010x}"


@contextmanager
def server() -> Iterator[Callable[[], str]]:
    """A PostgreSQL of the test's own; each call gives the address of a new, migrated database."""
    with postgres.server() as running:
        numbers = itertools.count(1)

        def fresh() -> str:
            name = f"t{next(numbers)}"
            if name == "t1":
                opened(empty_database(running, "migrated")).close()
            return empty_database(running, name, "migrated")

        yield fresh


def empty_database(running: postgres.Server, name: str, like: str = "template1") -> str:
    """The address of a new database on a running server."""
    place = running.place
    with psycopg.connect(f"host={place} user=postgres", autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name} TEMPLATE {like}".encode())
    return f"postgresql+psycopg://postgres@/{name}?host={place}"


def opened(address: str) -> Store:
    """A store at the newest revision."""
    store = Store(address, counted())
    store.migrate()
    return store


def sqlite_at(folder: Path) -> str:
    """The address of a new file."""
    return f"sqlite:///{folder / 'stirbell.sqlite'}"


def is_full() -> bool:
    """Whether the long runs are wanted."""
    return bool(environment().get("STIRBELL_FULL")) or environment().get("CI") == "true"


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[Callable[[], str]]:
    with server() as fresh:
        yield fresh


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("migrated")
    opened(sqlite_at(folder)).close()
    return folder / "stirbell.sqlite"


@pytest.fixture(params=["sqlite", "postgresql"])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    if request.param == "sqlite":
        shutil.copy(request.getfixturevalue("migrated_file"), tmp_path)
        return sqlite_at(tmp_path)
    fresh: Callable[[], str] = request.getfixturevalue("postgres_server")
    return fresh()


@pytest.fixture
def store(address: str) -> Iterator[Store]:
    store = opened(address)
    yield store
    store.close()
