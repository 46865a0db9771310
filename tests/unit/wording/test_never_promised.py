"""No ferment is ever called what only a laboratory could say of it, in any language.

The words of the house rule, and their plain translations where a catalogue exists. The
translations are the test author's own, not a native reader's.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import polib
import pytest

import bot.recipes

ROOT = Path(__file__).parents[3]
LOCALES = ROOT / "locales"
RECIPES = sorted(Path(str(bot.recipes.__file__)).parent.glob("*.toml"))

# "Weed killer" is no ferment, so "killer" alone may be said.
NEVER = {
    "en": r"(un)?safe(ly|ty|r)?|pathogen\W?free|guarantee\w*|kill(s|ed|ing)?|cure[sd]?|control\w*",
    "es": r"segur(o|a)s?|seguridad|libres? de pat[oó]genos|garant\w*|mata[nr]?"
    r"|cura[nr]?|control\w*",
    "fr": r"sûre?s?|sans danger|sans pathog\w*|garanti\w*|tue(nt|r)?|guéri\w*|contr[ôo]l\w*",
    "pt": r"segur(o|a)s?|segurança|livres? de pat[oó]genos|garant\w*|mata[mr]?"
    r"|cura[mr]?|control\w*",
    "sw": r"salama|bila vimelea|hakikish\w*|uhakika|dhaman\w*|(ina|hu|ku)ua|\w*ponya|\w*tibu"
    r"|\w*dhibiti",
    "hi": r"सुरक्षित|रोगाणु\W?मुक्त|गारंटी|मार(ता|ती|ते|कर)|मार दे\w*|इलाज|नियंत्र\w*",
    "hi-Latn": r"surakshit|rog\w*nu\W?mukt|garanti|guarantee|ma+rt[aei]|ila+j|niyantr\w*",
}
PROMISES = {
    "en": "It is safe, pathogen-free and guaranteed: it kills, cures and controls.",
    "es": "Es seguro, libre de patógenos y garantizado: mata, cura y controla.",
    "fr": "C'est sûr, sans pathogènes et garanti : il tue, guérit et contrôle.",
    "pt": "É seguro, livre de patógenos e garantido: mata, cura e controla.",
    "sw": "Ni salama, bila vimelea, imehakikishwa dhamana: inaua, inaponya na kudhibiti.",
    "hi": "यह सुरक्षित, रोगाणु-मुक्त है, गारंटी है: मारता है, इलाज करता है, नियंत्रण करता है।",
    "hi-Latn": "yah surakshit, roganu-mukt hai, garanti hai: marta hai, ilaj hai, niyantran hai.",
}


def promised(text: str, tag: str) -> list[str]:
    """The forbidden words in a text of a language; English ones count in every language."""
    spelt = "|".join(dict.fromkeys((NEVER["en"], NEVER.get(tag, NEVER["en"]))))
    return [found[0] for found in re.finditer(rf"(?<!\w)(?:{spelt})(?!\w)", text, re.IGNORECASE)]


def strings(value: object) -> Iterator[str]:
    """Every text of a table, however deep."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for each in value.values():
            yield from strings(each)
    elif isinstance(value, list):
        for each in value:
            yield from strings(each)


def tags() -> list[str]:
    return sorted(path.parent.name for path in LOCALES.glob("*/words.toml"))


@pytest.mark.parametrize("tag", sorted(PROMISES))
def test_a_promise_would_be_noticed(tag: str) -> None:
    assert len(promised(PROMISES[tag], tag)) == 6
    assert not promised("Soft cap, secure the cloth, curd, matar, sur le tas", "en")


@pytest.mark.parametrize("tag", tags())
def test_no_catalogue_promises_anything(tag: str) -> None:
    catalogue = LOCALES / tag / "messages.po"
    entries = polib.pofile(str(catalogue)) if catalogue.exists() else ()
    said = {
        entry.msgid: found
        for entry in entries
        for text in (entry.msgstr, *entry.msgstr_plural.values())
        if (found := promised(text, tag))
    }
    assert not said


@pytest.mark.parametrize("tag", tags())
def test_no_example_that_is_said_back_promises_anything(tag: str) -> None:
    table = tomllib.loads((LOCALES / tag / "words.toml").read_text("utf-8"))
    examples = [each["example"] for each in table["requests"].values() if "example" in each]
    assert examples
    assert not [each for each in examples if promised(each, tag)]


@pytest.mark.parametrize("path", RECIPES, ids=lambda path: path.stem)
def test_no_recipe_promises_anything(path: Path) -> None:
    texts = list(strings(tomllib.loads(path.read_text("utf-8"))))
    assert texts
    assert not [each for each in texts if promised(each, "en")]


def test_nothing_said_in_a_conversation_promises_anything() -> None:
    heard = 0
    for path in (ROOT / "tests" / "conversations").glob("*/*.chat"):
        for line in path.read_text("utf-8").splitlines():
            if line.startswith("<"):
                heard += 1
                # The terminal's own stamp, as [Tue 03 Mar 07:00], is nothing said.
                said = re.sub(r"^< \[[^]]*\]", "<", line)
                assert not promised(said, path.parent.name), (path.name, line)
    assert heard > 500
