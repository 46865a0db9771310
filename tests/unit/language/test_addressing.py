"""For whom a message is: a name before a colon, with or without the word for it."""

from __future__ import annotations

import pytest

from bot.language.addressing import Addressed, addressed
from bot.language.understand import tongues


@pytest.mark.parametrize(
    ("said", "name", "rest", "plainly"),
    [
        ("for Asha: stirred", "Asha", "stirred", True),
        ("FOR old aunt : used 20 l", "old aunt", "used 20 l", True),
        ("Asha: stirred", "Asha", "stirred", False),
        ("para Rosa: revolví", "Rosa", "revolví", True),
        ("pour Awa: remué", "Awa", "remué", True),
        ("kwa niaba ya Bibi: nimekoroga", "Bibi", "nimekoroga", True),
        ("आशा के लिए: हिलाया", "आशा", "हिलाया", True),
        ("Asha ke liye: hilaya", "Asha", "hilaya", True),
    ],
)
def test_a_name_before_a_colon(said: str, name: str, rest: str, plainly: bool) -> None:
    assert addressed(said, tongues()) == Addressed(name, rest, plainly)


@pytest.mark.parametrize(
    "said",
    [
        "leaf spray 1:3",
        "remind me at 6:30",
        "for Asha stirred",
        "for Asha:",
        ": stirred",
        "a name that is much too long to be one: stirred",
        "",
    ],
)
def test_what_names_nobody(said: str) -> None:
    assert addressed(said, tongues()) is None
