"""A language nobody speaks: two files in a folder, no line of the program changed, a whole chat."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest

from bot.assembly import assemble
from bot.channels.terminal import Terminal
from bot.chat import Chat, ChatClock
from bot.wording import pseudo
from bot.wording.catalogue import LOCALES, load
from bot.wording.skeleton import new_language

START = datetime(2026, 3, 2, 9, tzinfo=UTC)

HEARD = {
    "started": "zaklo",
    "stirred": "mirelo",
    "stir": "mirel",
    "ready": "tavi",
    "barrel": "bokko",
    "leaf spray": "lisso",
    "tanks": "dannot",
    "undo": "retro",
    "today": "hodi",
}
"""Words of the invented language, in the place of the English ones."""

CHAT = (
    ("zaklo 200 l bokko", "start"),
    ("mirelo", "stir"),
    ("retro", ""),
    ("mirelo b1", "stir"),
    ("lisso 2 dannot of 16 litres", "caution"),
    ("hodi", ""),
    ("@ 2026-03-08 09:00", ""),
    ("b1 tavi", "look"),
)


def _invented(root: Path) -> None:
    """The two files, as `stirbell new-language qzz` writes them, filled in."""
    for each in LOCALES.iterdir():
        (root / each.name).symlink_to(each.resolve())
    said, heard = new_language("qzz", root).items()
    said[0].parent.mkdir()
    header = '"X-Locale: en\\n"\n"X-Reader: nobody, it is invented\\n"\n'
    accented = pseudo.catalogue(pseudo.LONG, load("en")).partition("\n\n")[2]
    head = said[1].partition('"X-Locale')[0] + header
    said[0].write_text(f"{head}\n{accented}", encoding="utf-8")
    words = "\n".join(map(_own, heard[1].splitlines()))
    heard[0].write_text(words, encoding="utf-8")


def _own(line: str) -> str:
    """One line of the word list with the invented words; its key and its table stay."""
    key = re.match(r'(?:[\w"-]+ = |\[.*)?', line)
    kept = key[0] if key else ""
    rest = line[len(kept) :]
    for english, own in HEARD.items():
        rest = re.sub(rf"(?<![\w=-]){english}(?![\w-])", own, rest)
    return kept + rest


@contextmanager
def _chat(tmp_path: Path, root: Path) -> Iterator[tuple[Chat, list[str]]]:
    clock = ChatClock(lambda: START, "UTC", moved=START)
    chance = random.Random(7)
    house = assemble(
        f"sqlite:///{tmp_path / 'chat.sqlite'}",
        now=clock.now,
        environ={},
        names=("terminal",),
        new_id=lambda: f"{chance.getrandbits(64):016x}",
        newcomer=lambda _incoming: {"zone": "UTC", "language": "qzz"},
        locales=root,
    )
    terminal = house.channels["terminal"]
    assert isinstance(terminal, Terminal)
    said: list[str] = []
    try:
        yield Chat(house.engine, terminal, clock, said.append), said
    finally:
        house.close()


def test_an_invented_language_holds_a_whole_conversation(tmp_path: Path) -> None:
    root = tmp_path / "locales"
    root.mkdir()
    _invented(root)
    with _chat(tmp_path, root) as (chat, said):
        for line, kind in CHAT:
            said.clear()
            chat.line(line)
            assert said, line
            # Every clause is accented: nothing came in English.
            assert all(re.search("[áéíóúýñçšÁÉÍÓÚÝÑÇŠ]", text) for text in said), said
            if kind:
                assert "B1" in said[0] or "4 " in said[0], said


def test_what_a_language_cannot_say_yet_comes_in_english_and_the_log_names_it(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    root = tmp_path / "locales"
    root.mkdir()
    _invented(root)
    path = root / "qzz" / "messages.po"
    whole = path.read_text(encoding="utf-8")
    path.write_text(
        re.sub(r'msgid "thanks.welcome"\nmsgstr ".*"', 'msgid "thanks.welcome"\nmsgstr ""', whole),
        encoding="utf-8",
    )
    with _chat(tmp_path, root) as (chat, said):
        chat.line("thanks")
        assert said == ["You are welcome."]
        said.clear()
        chat.line("my group")  # who keeps the group sees how often
        lacking = [line for line in said[0].splitlines() if "qzz" in line]
        assert len(lacking) == 1
        assert lacking[0].startswith("1 ")
    assert "no words in qzz, said in English: thanks.welcome" in caplog.text
