"""Every key that recipes, cautions and units name has words in English."""

import polib
import pytest

from bot.craft.cautions import CAUTIONS
from bot.craft.units import meanings
from bot.recipes.reading import shipped

WORDS = {entry.msgid: entry.msgstr for entry in polib.pofile("locales/en/messages.po")}
NEVER = ("safe", "pathogen-free", "guaranteed", "kills", "cures")


def keys() -> set[str]:
    found: set[str] = set()
    for each in CAUTIONS:
        found |= {f"caution.{each.key}", f"why.{each.key}"}
    for recipe in shipped().values():
        found |= {f"recipe.{recipe.kind}", f"cover.{recipe.cover}"}
        found |= {f"ingredient.{each.name}" for each in recipe.ingredients}
        found |= {f"sign.{name}" for name in (*recipe.ready.signs, *recipe.ready.spoilt)}
        found |= {f"step.{name}" for name in recipe.steps}
        found |= {f"use.{use.name}" for use in recipe.uses}
        found |= {f"note.{name}" for use in recipe.uses for name in use.notes}
    return found


@pytest.mark.parametrize("key", sorted(keys()))
def test_a_key_has_words(key: str) -> None:
    assert WORDS.get(key)


def test_units_that_a_place_decides_have_words_with_their_number() -> None:
    for said in ("bigha", "katha", "gallon", "cup", "manzana", "alqueire", "maund"):
        for meaning in meanings(said):
            assert "{n}" in WORDS[f"unit.{meaning.unit}"], meaning.unit


def test_no_caution_promises_anything() -> None:
    for key, words in WORDS.items():
        if key.startswith(("caution.", "why.", "sign.", "step.", "note.", "recipe.")):
            assert not any(word in words.lower().split() for word in NEVER), key


def test_a_caution_is_one_short_line() -> None:
    for each in CAUTIONS:
        assert len(WORDS[f"caution.{each.key}"]) <= 70
        assert len(WORDS[f"why.{each.key}"]) <= 150
