"""A language is a folder: one more, invented here, is found by being there and read."""

from datetime import date, datetime, time
from decimal import Decimal
from pathlib import Path

import pytest

from bot.craft.units import Quantity
from bot.facts import Count, Every, Ratio
from bot.language.lexicon import LexiconError, load, tags
from bot.language.read import read

REF = datetime(2026, 3, 4, 10)  # noqa: DTZ001 - a Wednesday, in wall time

# An invented speech: the unit stands first, the hours run from dawn, "um" joins numbers.
BRELISH = """
[language]
name = "Brelish"

[habits]
decimal = ","
unit_first = true
join_from = 20

[numbers]
and = "um"

[numbers.cardinals]
1 = "zek"
5 = "pim"
20 = "dovar"
100 = "stol"

[numbers.fractions]
"0.5" = "halk"

[units.names]
litre = "lorr"

[nouns.names]
tank = "bokko, bokkot"

[spans.names]
"1 day" = "solun"

[ratios]
in = "vid"

[every]
each = "onni"

[dates.days]
"1" = "morru"

[times]
at = "klok"

[times.parts]
4-12 = "surri"

[reading]
"lorr dovar um pim" = {quantities = [[25, "litre"]]}
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "x-brel").mkdir()
    (tmp_path / "x-brel" / "words.toml").write_text(BRELISH, "utf-8")
    return tmp_path


def test_a_new_folder_is_a_new_language(folder: Path) -> None:
    assert tags(folder) == ("x-brel",)
    brelish = load("x-brel", folder)
    reading = read("lorr dovar um pim, bokkot 5. zek vid dovar", brelish, REF)
    assert [mention.value for mention in reading.mentions if mention.kind != "doubt"] == [
        Quantity(Decimal(25), "litre"),
        Count(Decimal(5), "tank"),
        Ratio(Decimal(1), Decimal(20)),
    ]
    later = read("morru klok 5 surri onni solun 5", brelish, REF)
    assert [mention.value for mention in later.mentions] == [
        date(2026, 3, 5),
        time(5),
        Every(5, "day"),
    ]


def test_a_new_language_has_its_slips_mended_too(folder: Path) -> None:
    reading = read("bokkto 5", load("x-brel", folder), REF)
    assert reading.of("count")[0].value == Count(Decimal(5), "tank")
    assert reading.tokens[0].slip
    assert reading.tokens[0].text == "bokkto"


@pytest.mark.parametrize(
    ("table", "complaint"),
    [
        ("x = ", r"words\.toml"),
        ('[language]\nname = 3\nsize = "x"', r"words\.toml"),
        ('[language]\nname = "A"\n[habits]\ndawn = true', "dawn"),
        ('[language]\nname = "A"\n[units]\nbig = "x"', r"\[units\] big: no such words"),
        ('[language]\nname = "A"\n[units.sizes]\nbig = "x"', r"\[units\] sizes: no such table"),
        ('[language]\nname = "A"\n[numbers.cardinals]\ntwo = "x"', "'two' is not understood"),
        ('[language]\nname = "A"\n[spans.names]\nday = "x"', "'day' is not understood"),
        ('[language]\nname = "A"\n[times.parts]\nnoon = "x"', "'noon' is not understood"),
    ],
)
def test_a_fault_in_a_word_list_is_said_with_its_place(
    tmp_path: Path, table: str, complaint: str
) -> None:
    (tmp_path / "xx").mkdir()
    (tmp_path / "xx" / "words.toml").write_text(table, "utf-8")
    with pytest.raises(LexiconError, match=complaint):
        load("xx", tmp_path)


def test_a_language_that_is_not_there_is_named_with_those_that_are(folder: Path) -> None:
    with pytest.raises(LexiconError, match="no language qq; there are: x-brel"):
        load("qq", folder)


def test_a_language_without_cldr_names_is_read_by_its_own_words(tmp_path: Path) -> None:
    (tmp_path / "xx").mkdir()
    (tmp_path / "xx" / "words.toml").write_text(
        '[language]\nname = "A"\ncldr = "x-none"\n[units.names]\nlitre = "lorr"\n', "utf-8"
    )
    reading = read("3 lorr", load("xx", tmp_path), REF)
    assert reading.of("quantity")[0].value == Quantity(Decimal(3), "litre")


def test_a_language_may_name_the_month_first(tmp_path: Path) -> None:
    (tmp_path / "xx").mkdir()
    (tmp_path / "xx" / "words.toml").write_text(
        '[language]\nname = "A"\n[habits]\nday_first = false\n', "utf-8"
    )
    lexicon = load("xx", tmp_path)
    assert read("5/1/2027", lexicon, REF).of("date")[0].value == date(2027, 5, 1)
    assert read("25/1/2027", lexicon, REF).of("date")[0].value == date(2027, 1, 25)
