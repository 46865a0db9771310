"""Adding a language: two files, no edits, and it speaks."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

import pytest

from bot.craft.units import Quantity
from bot.facts import Count, Fact
from bot.messages import Manner
from bot.wording.catalogue import LOCALES, load, parse
from bot.wording.coverage import coverage_table
from bot.wording.say import say
from bot.wording.skeleton import messages, new_language
from bot.wording.voice import Voice

HEADER = 'msgid ""\nmsgstr ""\n"Plural-Forms: nplurals=2; plural=(n != 1);\\n"\n'


@dataclass(frozen=True, slots=True)
class Tanks(Fact):
    words = "value.per"
    amount: Quantity
    each: Count


@pytest.fixture
def root(tmp_path: Path) -> Path:
    (tmp_path / "en").mkdir()
    text = (LOCALES / "en" / "messages.po").read_text(encoding="utf-8")
    (tmp_path / "en" / "messages.po").write_text(text, encoding="utf-8")
    return tmp_path


def test_an_invented_language_is_a_folder_and_speaks_at_once(root: Path) -> None:
    for path, text in new_language("qzz", root).items():
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    fact = Tanks(Quantity(Decimal(4), "litre"), Count(Decimal(3), "tank"))
    before = say([fact], Voice("qzz"), Manner(), root=root)
    assert before.pages == ("4 L per 3 tanks",)
    assert before.fell_back == ("value.per", "noun.tank")

    path = root / "qzz" / "messages.po"
    said = path.read_text(encoding="utf-8")
    for key, words in (("value.per", "{each} ma {amount}"), ("unit.litre", "{n} lo")):
        said = said.replace(f'msgid "{key}"\nmsgstr ""', f'msgid "{key}"\nmsgstr "{words}"')
    said = said.replace(
        'msgid_plural "noun.tank"\nmsgstr[0] ""\nmsgstr[1] ""',
        'msgid_plural "noun.tank"\nmsgstr[0] "{n} dabba"\nmsgstr[1] "{n} dabbas"',
    )
    path.write_text(said, encoding="utf-8")
    after = say([fact], Voice("qzz"), Manner(), root=root)
    assert after.pages == ("3 dabbas ma 4 lo",)
    assert after.fell_back == ()
    assert "qzz" in coverage_table(root)


def test_a_skeleton_has_the_plural_forms_of_its_language(root: Path) -> None:
    arabic = parse("ar", messages("ar", load("en", root)))
    assert {len(entry.forms) for entry in arabic.entries if entry.plural} == {6}
    assert not arabic.messages


def test_a_message_without_a_comment_is_begun_all_the_same() -> None:
    english = parse("en", HEADER + '\nmsgid "more"\nmsgstr "More:\\nsend MORE"\n')
    assert messages("sw", english).endswith(
        '#. English: More:\n#. English: send MORE\nmsgid "more"\nmsgstr ""\n'
    )


def test_what_is_heard_is_begun_from_english_too(root: Path) -> None:
    (root / "en" / "words.toml").write_text("[numbers]\n", encoding="utf-8")
    files = new_language("pt-MZ", root)
    assert [path.name for path in files] == ["messages.po", "words.toml"]
    assert files[root / "pt-MZ" / "words.toml"].endswith("[numbers]\n")


def test_a_tag_that_is_none_or_there_already_is_one_clear_line(root: Path) -> None:
    with pytest.raises(ValueError, match="write it as sw, hi-Latn or pt-MZ"):
        new_language("Swahili", root)
    with pytest.raises(FileExistsError, match="is there already"):
        new_language("en", root)
