"""The likely language of a country, against CLDR's own table.

Source: CLDR territoryInfo as Babel 2.18 carries it (mark V: run).
"""

from __future__ import annotations

import pytest

from bot.language.territory import likely

KNOWN = ("en", "es", "fr", "hi", "hi-Latn", "pt", "sw")


@pytest.mark.parametrize(
    ("country", "language"),
    [
        ("IN", "hi"),
        ("TZ", "sw"),
        ("KE", "sw"),
        ("GT", "es"),
        ("MX", "es"),
        ("BR", "pt"),
        ("MZ", "pt"),
        ("SN", "fr"),
        ("US", "en"),
        ("GB", "en"),
    ],
)
def test_most_people_of_the_country_use_it(country: str, language: str) -> None:
    assert likely(country, KNOWN) == language


def test_where_none_is_known_none_is_guessed() -> None:
    assert likely("ET", ["sw"]) == ""
    assert likely("", KNOWN) == ""
