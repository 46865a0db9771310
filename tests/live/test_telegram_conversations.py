"""Whole conversations over the independent Telegram emulator: the same files, the same words."""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from datetime import datetime
from functools import partial
from pathlib import Path

import pytest
from sqlalchemy import func, select

from bot.assembly import House, assemble
from bot.chat import ChatClock
from bot.clock import instant
from bot.records.tables import inbox
from tests.conversations.chat_file import Script, read
from tests.live.peers.telegram_emulator import Emulator, Person, missing

HERE = Path(__file__).parent.parent / "conversations" / "en"
NAMES = ("batch", "bad", "drench", "harvest", "rounds", "undo")

pytestmark = [pytest.mark.live]


def _kept(house: House) -> int:
    with house.store.begin() as tx:
        return int(tx.execute(select(func.count()).select_from(inbox)).scalar_one())


def _more_than(house: House, before: int) -> bool:
    return _kept(house) > before


def _until(true: Callable[[], bool], what: str) -> None:
    for _ in range(500):
        if true():
            return
        time.sleep(0.02)
    pytest.fail(f"10 s went by and {what}")


def _expected(path: Path) -> dict[int, list[str]]:
    """The lines that the bot says after each turn, without the terminal's own stamps."""
    found: dict[int, list[str]] = {}
    turn = 0
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
        if line.startswith(("> ", "@ ")):
            turn = number
        elif line.startswith("<"):
            text = line[1:].removeprefix(" ")
            found.setdefault(turn, []).append(text.partition("] ")[2] if text[:1] == "[" else text)
    return found


def _step_to(house: House, clock: ChatClock, there: datetime) -> None:
    following = house.engine.step(clock.now())
    while following is not None and following <= there:
        clock.moved = following
        following = house.engine.step(following)
    clock.moved = there
    house.engine.step(there)


def _said(grower: Person, lines: int) -> list[str]:
    heard: list[str] = []
    while len(heard) < lines:
        heard += grower.reads().text.split("\n")
    return heard


def _start(script: Script) -> datetime:
    wall = datetime.fromisoformat(next(line for _, line in script.turns)[1:].strip())
    return instant(wall.date(), wall.time(), "UTC")


@pytest.mark.parametrize("name", NAMES)
def test_the_conversation_goes_over_telegram_as_on_the_terminal(name: str, tmp_path: Path) -> None:
    if missing():
        pytest.skip(missing())
    path = HERE / f"{name}.chat"
    script = read(path)
    expected = _expected(path)
    clock = ChatClock(lambda: _start(script), moved=_start(script))
    chance = random.Random(7)
    with Emulator() as emulator:
        house = assemble(
            f"sqlite:///{tmp_path / 'house.sqlite'}",
            now=clock.now,
            environ={
                "STIRBELL_TELEGRAM_TOKEN": emulator.token,
                "STIRBELL_TELEGRAM_API": emulator.api,
            },
            names=("telegram",),
            new_id=lambda: f"{chance.getrandbits(64):016x}",
            newcomer=lambda _incoming: {"language": "en"},
        )
        try:
            grower = emulator.person()
            for number, line in script.turns:
                if line.startswith("@"):
                    _step_to(house, clock, clock.target(line[1:].strip()))
                else:
                    before = _kept(house)
                    grower.sent_s = int(clock.now().timestamp()) + 1
                    grower.types(line)
                    _until(partial(_more_than, house, before), f"{line!r} was not kept")
                    clock.tick()
                    _step_to(house, clock, clock.now())
                wanted = expected.get(number, [])
                assert _said(grower, len(wanted)) == wanted
        finally:
            house.close()
