"""`stirbell serve` as an operator runs it: a process of its own, Telegram's double over HTTP."""

from __future__ import annotations

import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import select

from bot import operating
from bot.cli import main
from bot.records.store import Store
from bot.records.tables import lease, outbox
from bot.settings import environment
from tests.contract.stores import counted, sqlite_at
from tests.live.peers.telegram_double import TOKEN, Double

ROOT = Path(__file__).parents[2]
WAIT_S = 60.0


def until_true(what: object, seconds: float = WAIT_S) -> bool:
    assert callable(what)
    end = time.monotonic() + seconds
    while not what():
        if time.monotonic() > end:
            return False
        time.sleep(0.05)
    return True


def stirbell(*words: str, **variables: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "bot", *words],
        cwd=ROOT,
        env={**environment(), **variables},
        capture_output=True,
        text=True,
        timeout=WAIT_S,
        check=False,
    )


class Copy:
    """One running copy; its lines are read as they come."""

    def __init__(self, folder: Path, name: str, **variables: str) -> None:
        self.log = folder / f"{name}.log"
        with self.log.open("w") as out:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "bot", "serve"],
                cwd=ROOT,
                env={**environment(), **variables},
                stdout=out,
                stderr=subprocess.STDOUT,
            )

    def said(self, words: str) -> bool:
        return words in self.log.read_text()

    def end(self, number: int = signal.SIGTERM) -> int:
        self.process.send_signal(number)
        return self.process.wait(timeout=WAIT_S)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def scraped(port: int) -> str:
    with urllib.request.urlopen(f"http://127.0.0.1:{port}/metrics", timeout=10) as answer:
        return str(answer.read().decode())


@pytest.fixture
def double() -> Iterator[Double]:
    with Double() as double:
        yield double


def variables(double: Double, folder: Path) -> dict[str, str]:
    return {
        "STIRBELL_DATABASE": sqlite_at(folder),
        "STIRBELL_TELEGRAM_TOKEN": TOKEN,
        "STIRBELL_TELEGRAM_API": double.api,
        "STIRBELL_TELEGRAM_POLL_TIMEOUT_S": "1",
    }


def test_a_served_bot_answers_counts_and_ends_cleanly(double: Double, tmp_path: Path) -> None:
    port = free_port()
    copy = Copy(tmp_path, "one", **variables(double, tmp_path), STIRBELL_METRICS_PORT=str(port))
    try:
        assert until_true(lambda: copy.said("serving")), copy.log.read_text()
        double.says("leaf spray 3 tanks of 16 litres")
        assert until_true(lambda: bool(double.sent)), copy.log.read_text()
        assert "4 L" in double.sent[0].text
        sent = re.compile(r'stirbell_outbox_day\{status="sent"\} [1-9]')
        assert until_true(lambda: bool(sent.search(scraped(port))))
        assert "stirbell_members 1.0" in scraped(port)
        told = stirbell("status", STIRBELL_DATABASE=sqlite_at(tmp_path))
        assert told.returncode == 0
        assert "channel:telegram" in told.stdout
    finally:
        assert copy.end() == 0, copy.log.read_text()
    assert copy.said("ending")
    assert "Traceback" not in copy.log.read_text()
    store = Store(sqlite_at(tmp_path), counted())
    with store.begin() as tx:
        assert tx.execute(select(lease).where(lease.c.name == "channel:telegram")).all() == []
    store.close()


@pytest.mark.slow
def test_another_copy_takes_the_channel_over_when_its_holder_is_killed(
    double: Double, tmp_path: Path, address: str
) -> None:
    shared = {**variables(double, tmp_path), "STIRBELL_DATABASE": address}
    first = Copy(tmp_path, "first", **shared)
    second = None
    try:
        assert until_true(lambda: first.said("channel telegram is open"))
        second = Copy(tmp_path, "second", **shared)
        assert until_true(lambda: second is not None and second.said("waiting for it"))
        first.end(signal.SIGKILL)
        assert until_true(lambda: second is not None and second.said("channel telegram is open"))
        double.says("leaf spray 3 tanks of 16 litres")
        assert until_true(lambda: bool(double.sent))
    finally:
        if first.process.poll() is None:
            first.end(signal.SIGKILL)
        if second is not None:
            assert second.end() == 0


@pytest.mark.parametrize(
    ("words", "given", "said"),
    [
        (["serve"], {}, "no channel is configured"),
        (["serve"], {"STIRBELL_TELEGRAM_TOKEN": "nonsense"}, "STIRBELL_TELEGRAM_TOKEN"),
        (["status"], {}, "stirbell migrate"),
        (["migrate"], {"STIRBELL_DATABASE": "nonsense"}, "is not understood"),
        (["migrate"], {"STIRBELL_DATABASE": "sqlite:////no/such/folder/x"}, "cannot be opened"),
        (["restore", "/no/such/file"], {}, "is not there"),
        (["status"], {"STIRBELL_LOG": "loud"}, "STIRBELL_LOG"),
        (["status"], {"STIRBELL_METRICS_PORT": "x"}, "STIRBELL_METRICS_PORT"),
    ],
)
def test_an_operators_mistake_is_one_line_and_a_failure(
    words: list[str],
    given: dict[str, str],
    said: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    for name, value in {"STIRBELL_DATABASE": sqlite_at(tmp_path), **given}.items():
        monkeypatch.setenv(name, value)
    monkeypatch.setattr(operating, "_arm", lambda _stop: None)
    assert main(words) == 1
    told = capsys.readouterr()
    assert told.out == ""
    assert said in told.err
    assert told.err.count("\n") == 1


def test_a_backup_is_taken_beside_a_running_bot_and_restored_without_an_old_word(
    double: Double, tmp_path: Path
) -> None:
    copy = Copy(tmp_path, "one", **variables(double, tmp_path))
    kept = tmp_path / "kept.gz"
    try:
        assert until_true(lambda: copy.said("serving"))
        double.says("started 200 l barrel yesterday")
        assert until_true(lambda: bool(double.sent))
        taken = stirbell("backup", str(kept), STIRBELL_DATABASE=sqlite_at(tmp_path))
        assert taken.returncode == 0, taken.stderr
    finally:
        copy.end()
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    given = {"STIRBELL_DATABASE": sqlite_at(elsewhere)}
    restored = stirbell("restore", str(kept), **given)
    assert restored.returncode == 0, restored.stderr
    again = stirbell("restore", str(kept), **given)
    assert again.returncode == 1
    assert "not empty" in again.stderr
    assert "members     1" in stirbell("status", **given).stdout
    cut = tmp_path / "cut.gz"
    cut.write_bytes(kept.read_bytes()[:-40])
    third = tmp_path / "third"
    third.mkdir()
    broken = stirbell("restore", str(cut), STIRBELL_DATABASE=sqlite_at(third))
    assert broken.returncode == 1
    assert "cut short" in broken.stderr
    store = Store(sqlite_at(elsewhere), counted())
    with store.begin() as tx:
        waiting = tx.execute(select(outbox).where(outbox.c.status == "waiting")).all()
    store.close()
    assert waiting == []
