"""Catalogues: read, chosen between, and complained about in one line."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from bot.wording.catalogue import CatalogueError, Slot, chain, load, parse, tags, template

HEADER = 'msgid ""\nmsgstr ""\n"Plural-Forms: nplurals=2; plural=(n != 1);\\n"\n'


def test_a_template_is_text_and_places() -> None:
    assert template("a {b:near}{c}") == ("a ", Slot("b", "near"), Slot("c"))
    assert template("") == ()


def test_an_untranslated_or_fuzzy_message_is_not_said() -> None:
    text = f"""{HEADER}
msgid "a"
msgstr "A"

#, fuzzy
msgid "b"
msgstr "B"

msgid "c"
msgstr ""

msgid "d"
msgid_plural "d"
msgstr[0] "one"
msgstr[1] ""
"""
    read = parse("en", text)
    assert list(read.messages) == ["a"]
    assert [entry.key for entry in read.entries] == ["a", "b", "c", "d"]


def test_a_key_written_twice_is_noticed() -> None:
    text = f'{HEADER}\nmsgid "a"\nmsgstr "A"\n\nmsgid "a"\nmsgstr "A"\n'
    assert parse("en", text).repeated == ("a",)


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ('msgid "a"\nmsgstr "A"\n', "the header needs a line"),
        (HEADER.replace("n != 1", "n +* 1"), "Plural-Forms: "),
        (HEADER + '\nmsgid "a\n', "messages.po: "),
    ],
)
def test_a_broken_catalogue_is_one_clear_line(text: str, complaint: str) -> None:
    with pytest.raises(CatalogueError, match=complaint) as caught:
        parse("en", text)
    assert "\n" not in str(caught.value)


def test_a_language_cldr_does_not_know_names_one_it_is_like() -> None:
    with pytest.raises(CatalogueError, match="X-Locale"):
        parse("qzz", HEADER)
    liked = parse("qzz", HEADER + '"X-Locale: pt_BR\\n"\n')
    assert str(liked.locale) == "pt_BR"
    assert liked.habits == {"locale": "pt_BR"}


def test_a_missing_file_is_one_clear_line(tmp_path: Path) -> None:
    with pytest.raises(CatalogueError, match="cannot be read"):
        load("xx", tmp_path)


def test_fractions_take_the_form_of_their_cldr_category() -> None:
    french = parse("fr", HEADER.replace("n != 1", "n > 1"))
    assert [french.plural(Decimal(n)) for n in ("0", "1", "1.5", "1.0", "2", "-2")] == [
        0, 0, 0, 0, 1, 1,
    ]  # fmt: skip
    english = parse("en", HEADER)
    assert [english.plural(Decimal(n)) for n in ("0", "1", "1.0", "1.5")] == [1, 0, 0, 1]


def test_a_language_is_looked_for_with_and_without_its_country(tmp_path: Path) -> None:
    for tag in ("en", "pt", "hi", "hi-Latn"):
        (tmp_path / tag).mkdir()
        (tmp_path / tag / "messages.po").write_text(HEADER, encoding="utf-8")
    assert tags(tmp_path) == ("en", "hi", "hi-Latn", "pt")
    assert [each.tag for each in chain("pt-MZ", tmp_path)] == ["pt", "en"]
    assert [each.tag for each in chain("pt_MZ", tmp_path)] == ["pt", "en"]
    assert [each.tag for each in chain("hi-Latn", tmp_path)] == ["hi-Latn", "en"]
    assert [each.tag for each in chain("tlh", tmp_path)] == ["en"]
