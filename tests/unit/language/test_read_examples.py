"""The examples of each word list: what is written there must be read."""

import tomllib
from datetime import datetime
from typing import Any

import pytest

from bot.language.jsonl import printable
from bot.language.lexicon import LOCALES, load, tags
from bot.language.read import read

REF = datetime(2026, 3, 4, 10)  # noqa: DTZ001 - a Wednesday, in wall time


def _examples() -> list[tuple[str, str, dict[str, Any]]]:
    found = []
    for tag in tags():
        table = tomllib.loads((LOCALES / tag / "words.toml").read_text("utf-8"))
        for text, wanted in table.get("reading", {}).items():
            found.append((tag, text, wanted))
    return found


@pytest.mark.parametrize(("tag", "text", "wanted"), _examples())
def test_an_example_is_read_as_its_word_list_says(
    tag: str, text: str, wanted: dict[str, Any]
) -> None:
    got = printable(read(text, load(tag), REF))
    flat = {
        kind: [tuple(v.values()) if isinstance(v, dict) else v for v in values]
        for kind, values in got.items()
        if values
    }
    expected = {
        kind: [tuple(v) if isinstance(v, list) and kind != "ratios" else v for v in values]
        for kind, values in wanted.items()
    }
    assert flat == expected
