"""The checks on catalogues: each slip is one line that says where and what."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time
from pathlib import Path
from typing import Any, ClassVar, Literal

import pytest

from bot.craft.units import Quantity
from bot.facts import Count, Fact, Term
from bot.wording import costs, coverage, faults, sources
from bot.wording.values import Speaker
from bot.wording.voice import Voice
from bot.wording.widest import barest, widest

ENGLISH = r"""msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\n"
"X-Needed: more poured\n"
"X-Usable: use\n"
"X-Never: safe, kills\n"
"X-Reader: awaited\n"
"X-Locale: en_GB\n"

#. What it must say.
msgid "more"
msgstr "More: send MORE"

#. What it must say.
msgid "poured"
msgid_plural "poured"
msgstr[0] "{amount} on {on}, one pour"
msgstr[1] "{amount} on {on}, {pours} pours"

#. What it must say.
msgid "poured.short"
msgstr "{amount}"

#. What it must say.
msgid "use.leaf"
msgstr "leaf spray"

#. What it must say.
msgid "noun.plant"
msgid_plural "noun.plant"
msgstr[0] "{n} plant"
msgstr[1] "{n} plants"

#. What it must say.
msgid "old"
msgstr "nobody says this any more"
"""

SPANISH = r"""msgid ""
msgstr ""
"X-Reader: awaited\n"
"Content-Type: text/plain; charset=utf-8\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\n"

#. What it must say.
msgid "more"
msgstr "Más: mande MAS"

#. What it must say.
msgid "poured"
msgid_plural "poured"
msgstr[0] "{amount} el {day}"
msgstr[1] "{amount} el {on:loud}, {pours} {veces"

#. What it must say.
msgid "old"
msgstr ""

#, fuzzy
#. What it must say.
msgid "use.leaf"
msgstr "hoja"

#. What it must say.
msgid "noun.plant"
msgstr "{n} plantas"

#. What it must say.
msgid "extra"
msgstr "nada"
"""


@dataclass(frozen=True, slots=True)
class Poured(Fact):
    words = "poured"
    plural = "pours"
    amount: Quantity
    on: date
    pours: int


@dataclass(frozen=True, slots=True)
class Wide(Fact):
    words = "more"
    widest: ClassVar[dict[str, Any]] = {"text": "a long story"}
    text: str
    code: str
    use: Term
    strange: Term
    plants: Count
    tanks: Count
    air_temperature: Quantity
    area: Quantity
    either: int | str
    maybe: date | None
    names: tuple[str, ...]
    pair: tuple[Quantity, Quantity]
    which: Literal["a", "abc"]
    part: Poured
    any_part: Fact
    at: time


@dataclass(frozen=True, slots=True)
class Wrong(Fact):
    words = "wrong"
    plural = "gone"
    weight: float


@dataclass(frozen=True, slots=True)
class Blank(Fact):
    words = "blank"
    name: str | None


@pytest.fixture
def root(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for tag, text in (("en", ENGLISH), ("es", SPANISH)):
        (tmp_path / tag).mkdir()
        (tmp_path / tag / "messages.po").write_text(text, encoding="utf-8")
    monkeypatch.setattr(sources, "facts", lambda: (Poured,))
    monkeypatch.setattr(
        sources,
        "named",
        lambda: (sources.Named("use.leaf", "a.py:1"), sources.Named("crop.*", "a.py:2")),
    )
    monkeypatch.setattr(sources, "tabled", lambda: frozenset({"soil"}))
    monkeypatch.setattr(sources, "strings", lambda: frozenset({"more", "poured"}))
    return tmp_path


def test_every_slip_in_a_catalogue_is_one_line(root: Path) -> None:
    differ = (
        "places ['amount', 'day', 'on', 'pours'] differ from the English ['amount', 'on', 'pours']"
    )
    assert faults.faults(root, complete=("en", "es")) == (
        "en: noun.plant: nothing says this",
        "en: old: nothing says this",
        f"es: poured: {differ}",
        "es: poured: {on:loud} asks for something unknown",
        "es: poured: a brace begins no place in '{veces'",
        "es: use.leaf: fuzzy, so it is not said",
        "es: noun.plant: has plural forms where English has none, or none where it has",
        "es: extra: unused, English has no such key",
        "es: use.leaf: missing",
        "es: old: missing",
    )


def test_what_is_heard_can_be_said_back(root: Path) -> None:
    heard = """
[nouns.names]
plant = "plant"
ladle = "ladle"
[spans.names]
"1 day" = "day"
[units.names]
litre = "l"
furlong = "furlong"
[terms.use]
leaf = "leaf"
bark = "bark"
[terms.mood]
glad = "glad"
"""
    (root / "en" / "words.toml").write_text(heard, encoding="utf-8")
    assert [line for line in faults.faults(root) if "hears" in line] == [
        f'en/words.toml hears {key}: en/messages.po has no msgid "{key}"'
        for key in ("noun.day", "noun.ladle", "use.bark")
    ]


def test_a_language_has_short_forms_where_it_needs_them(root: Path) -> None:
    path = root / "es" / "messages.po"
    short = '\nmsgid "{}.short"\nmsgstr "{}"\n'
    text = SPANISH + short.format("more", "MAS") + short.format("poured", "{amount} {weight}")
    path.write_text(text + short.format("none", "x"), encoding="utf-8")
    assert [line for line in faults.faults(root) if ".short" in line] == [
        "es: poured.short: places ['amount', 'weight'] differ from the English ['amount']",
        "es: none.short: unused, English has no such key",
    ]


def test_a_language_may_fall_back_until_it_is_called_complete(root: Path) -> None:
    found = faults.faults(root, complete=("en",), unused=False)
    assert not [line for line in found if "missing" in line or "nothing says" in line]


def test_a_fact_without_english_words_is_named(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sources, "facts", lambda: (Wrong, Blank))
    monkeypatch.setattr(sources, "named", lambda: (sources.Named("unit.ell", "bot/a.py:7"),))
    found = faults.faults(root, unused=False)
    here = Wrong.__module__
    assert f'{here}.Wrong: en/messages.po has no msgid "wrong"' in found
    assert f"{here}.Wrong: plural names 'gone', which is no field" in found
    assert 'bot/a.py:7: en/messages.po has no msgid "unit.ell"' in found


def test_a_place_that_no_field_fills_is_named(root: Path) -> None:
    path = root / "en" / "messages.po"
    path.write_text(ENGLISH.replace('"{amount}"', '"{amout}"'), encoding="utf-8")
    found = faults.faults(root, unused=False)
    assert f"{Poured.__module__}.Poured: poured.short has {{amout}}, which is no field" in found


def test_a_plural_rule_that_cldr_contradicts_is_named(root: Path) -> None:
    (root / "hi").mkdir()
    text = ENGLISH.partition('msgid "more"')[0].replace("en_GB", "hi")
    (root / "hi" / "messages.po").write_text(text, encoding="utf-8")
    found = faults.faults(root, unused=False)
    assert "hi: Plural-Forms gives 2 the form of 'one', CLDR says 'other'" in found


def test_a_plural_with_too_few_forms_is_named(root: Path) -> None:
    (root / "fr").mkdir()
    text = (
        ENGLISH.replace('msgstr[1] "{n} plants"\n', "")
        .replace("n != 1", "n > 1")
        .replace("en_GB", "fr")
    )
    (root / "fr" / "messages.po").write_text(text, encoding="utf-8")
    assert "fr: noun.plant: 1 plural forms of 2" in faults.faults(root, unused=False)


def test_a_key_written_twice_is_named(root: Path) -> None:
    path = root / "fr"
    path.mkdir()
    text = (
        ENGLISH.replace("n != 1", "n > 1").replace("en_GB", "fr")
        + '\nmsgid "old"\nmsgstr "nobody says this"\n'
    )
    (path / "messages.po").write_text(text, encoding="utf-8")
    assert "fr: old: said twice" in faults.faults(root, unused=False)


def test_the_table_says_which_grade_a_language_has_reached(root: Path) -> None:
    assert coverage.coverage_table(root).split("\n") == [
        "language              needed            usable          complete   reached    read by",
        "en                       2/2               3/3               5/5   complete   awaited",
        "es                       2/2               2/3               3/5   needed     awaited",
    ]


def test_the_segment_table_counts_each_reply_in_each_language(root: Path) -> None:
    table = costs.segments_table(root)
    assert table.split("\n")[-2:] == [
        "en: 1 of 1 replies in one segment, 1 without paging, 1 in GSM-7",
        "es: 1 of 1 replies in one segment, 1 without paging, 1 in GSM-7",
    ]
    [english, spanish] = costs.costs(root)
    assert english.text == "1188.5 l on Thu 10 Sept, 28 pours"
    assert (english.alphabet, english.segments, english.units) == ("GSM-7", 1, len(english.text))
    assert spanish.tag == "es"
    assert costs.costs(root, ("es",)) == (spanish,)


def test_what_cannot_be_said_at_its_widest_is_named(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = root / "en" / "messages.po"
    path.write_text(
        ENGLISH + '\nmsgid "wrong"\nmsgstr "w"\n\nmsgid "blank"\nmsgstr "{name}"\n',
        encoding="utf-8",
    )
    monkeypatch.setattr(sources, "facts", lambda: (Wrong, Blank, Poured))
    here = Wrong.__module__
    assert faults.wordless(root, ("en",)) == {
        "en": (
            f"en: {here}.Wrong: {here}.Wrong.weight: a value of type float has no words",
            f"en: {here}.Blank: says nothing when barest",
            f"en: {here}.Blank: says nothing when barest",
        )
    }
    assert set(faults.wordless(root)) == {"en", "es"}


def test_widest_values_come_from_the_types_of_the_fields(root: Path) -> None:
    speaker = Speaker(Voice(), root)
    fact = widest(Wide, speaker)
    assert isinstance(fact, Wide)
    assert fact.text == "a long story"
    assert fact.code == "B12"
    assert fact.use == Term("use", "leaf")
    assert fact.plants.noun == "plant"
    assert fact.tanks.noun == "tank"
    assert fact.air_temperature.unit == "degree_celsius"
    assert fact.area.unit == "hectare"
    assert fact.either == "lower terrace"
    assert len(fact.names) == 3
    assert fact.which == "abc"
    assert isinstance(fact.part, Poured)
    bare = barest(Wide, speaker)
    assert isinstance(bare, Wide)
    assert (bare.maybe, bare.names, bare.pair) == (None, (), fact.pair)


def test_a_term_of_no_known_kind_is_still_a_term(tmp_path: Path) -> None:
    (tmp_path / "en").mkdir()
    text = ENGLISH.replace('msgid "use.leaf"', 'msgid "gone.leaf"')
    (tmp_path / "en" / "messages.po").write_text(text, encoding="utf-8")
    fact = widest(Wide, Speaker(Voice(), tmp_path))
    assert isinstance(fact, Wide)
    assert fact.strange == Term("use", "leaf")


def test_a_word_never_said_of_a_ferment_is_named(root: Path) -> None:
    path = root / "en" / "messages.po"
    text = ENGLISH.replace("leaf spray", "Safe leaf spray, unsafe skills, it kills")
    path.write_text(text.replace('#. What it must say.\nmsgid "use', 'msgid "use'), "utf-8")
    found = faults.faults(root, unused=False)
    assert [line for line in found if line.startswith("en")] == [
        "en: use.leaf: no comment says what it must say",
        "en: use.leaf: says 'kills', which X-Never forbids",
        "en: use.leaf: says 'safe', which X-Never forbids",
    ]


def test_a_catalogue_says_who_read_it(root: Path) -> None:
    path = root / "es" / "messages.po"
    path.write_text(SPANISH.replace("X-Reader", "X-Writer"), encoding="utf-8")
    needs = "es: the header needs X-Reader: awaited, or who read it and when"
    assert needs in faults.faults(root)


def test_the_back_check_lays_each_caution_beside_what_it_must_say(root: Path) -> None:
    caution = '\n#. Gloves; bare hands stay out.\nmsgid "caution.hands"\nmsgstr "Wear gloves."\n'
    (root / "en" / "messages.po").write_text(ENGLISH + caution, encoding="utf-8")
    assert coverage.back_check("es", root).split("\n")[1:] == [
        "",
        "[ ] caution.hands",
        "    must say: Gloves; bare hands stay out.",
        "    en: Wear gloves.",
        "    es: (nothing yet)",
    ]


@dataclass(frozen=True, slots=True)
class Doubt(Fact):
    words = "more"
    example: str


def test_an_example_is_the_longest_of_the_languages_own_word_list(root: Path) -> None:
    def example(tag: str) -> str:
        fact = widest(Doubt, Speaker(Voice(tag), root))
        assert isinstance(fact, Doubt)
        return fact.example

    assert example("es") == "lower terrace", "no word list at all"
    words = '[talk]\nexample = "leaf spray"\n[talk.mix]\nexample = "3 tanks of leaf spray"\n'
    (root / "en" / "words.toml").write_text(words, encoding="utf-8")
    assert example("es") == "3 tanks of leaf spray", "English where a language has none"
    (root / "es" / "words.toml").write_text('n = 1\nexample = "hoja"\n', encoding="utf-8")
    assert example("es") == "hoja"
    (root / "es" / "words.toml").write_text("n = 1\n", encoding="utf-8")
    assert example("es") == "3 tanks of leaf spray"
