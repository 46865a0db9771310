"""Whole messages and what is read in them: the examples of the word lists, and many more."""

import tomllib
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from bot.language.jsonl import printable
from bot.language.lexicon import LOCALES, load, tags
from bot.language.read import read

REF = datetime(2026, 3, 4, 10)  # noqa: DTZ001 - a Wednesday, in wall time
MORE = Path(__file__).parent / "heard"


def _examples() -> list[tuple[str, str, dict[str, Any]]]:
    found = []
    for tag in tags():
        listed = tomllib.loads((LOCALES / tag / "words.toml").read_text("utf-8"))
        more = MORE / f"{tag}.toml"
        texts = listed.get("reading", {}) | (
            tomllib.loads(more.read_text("utf-8")) if more.exists() else {}
        )
        found += [(tag, text, wanted) for text, wanted in texts.items()]
    return found


def _rounded(value: Any) -> Any:
    if isinstance(value, dict):
        return [_rounded(item) for item in value.values()]
    if isinstance(value, list):
        return [_rounded(item) for item in value]
    return round(value, 6) if isinstance(value, float) else value


@pytest.mark.parametrize(("tag", "text", "wanted"), _examples())
def test_a_message_is_read_as_its_example_says(tag: str, text: str, wanted: dict[str, Any]) -> None:
    got = printable(read(text, load(tag), REF))
    assert {kind: _rounded(values) for kind, values in got.items() if values} == wanted


def test_every_language_brings_its_own_examples() -> None:
    assert {tag for tag, _, _ in _examples()} == set(tags())
