"""Long, accented and right-to-left text goes through every reply and count."""

from __future__ import annotations

import unicodedata
from decimal import Decimal
from pathlib import Path

import pytest

from bot.craft.units import Quantity
from bot.facts import Count, Picture
from bot.wording import costs, faults, pseudo, segments, sources
from bot.wording.catalogue import LOCALES, load, parse
from bot.wording.pictures import picture
from bot.wording.values import Speaker
from bot.wording.voice import Voice
from bot.wording.widest import widest


@pytest.fixture
def root(tmp_path: Path) -> Path:
    english = load("en")
    (tmp_path / "en").symlink_to((LOCALES / "en").resolve())
    for tag in (pseudo.LONG, pseudo.RIGHT_TO_LEFT):
        (tmp_path / tag).mkdir()
        text = pseudo.catalogue(tag, english)
        (tmp_path / tag / "messages.po").write_text(text, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("tag", [pseudo.LONG, pseudo.RIGHT_TO_LEFT])
def test_an_invented_language_says_all_that_english_says(root: Path, tag: str) -> None:
    mine = load(tag, root)
    english = load("en")
    assert mine.messages.keys() == english.messages.keys()
    found = faults.faults(root, complete=(tag,), unused=False)
    assert not [line for line in found if line.startswith(tag)]


def test_long_text_is_longer_and_accented() -> None:
    assert parse("en", pseudo.catalogue(pseudo.LONG, load("en")))
    said = pseudo._long("stir every day")
    assert len(said) >= len("stir every day") * 1.3
    assert said.startswith("štír évérý dáý")


def test_values_keep_their_figures_in_right_to_left_text(root: Path) -> None:
    speaker = Speaker(Voice(pseudo.RIGHT_TO_LEFT), root)
    said = speaker.value(Count(Decimal(3), "tank"))
    assert said.startswith("3 ")
    assert {unicodedata.bidirectional(char) for char in said[2:]} == {"AL"}
    assert "4" in speaker.value(Quantity(Decimal(4), "litre"))


@pytest.mark.parametrize("tag", [pseudo.LONG, pseudo.RIGHT_TO_LEFT])
def test_every_reply_survives_and_is_counted(root: Path, tag: str) -> None:
    assert faults.wordless(root, (tag,)) == {tag: ()}
    for cost in costs.costs(root, (tag,)):
        assert cost.segments <= 2
        assert segments.units(cost.text) == cost.units


@pytest.mark.parametrize("tag", [pseudo.LONG, pseudo.RIGHT_TO_LEFT])
def test_every_picture_survives(root: Path, tag: str) -> None:
    fontpkg = pytest.importorskip("fontpkg_noto_sans_arabic")
    [font] = (Path(fontpkg.__file__).parent / "files").glob("*.ttf")
    (root / pseudo.RIGHT_TO_LEFT / "font.ttf").symlink_to(font)
    speaker = Speaker(Voice(tag), root)
    kinds = [kind for kind in sources.facts() if issubclass(kind, Picture)]
    assert kinds
    for kind in kinds:
        fact = widest(kind, speaker)
        assert isinstance(fact, Picture)
        assert picture(fact, speaker).startswith(b"\x89PNG")
