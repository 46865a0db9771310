"""The examples of every word list are its tests."""

from __future__ import annotations

import pytest

from bot.language.examples import Example, examples, got, right, unexercised
from bot.language.understand import tongues

HEARD = tongues()
ALL = [example for tag, tongue in HEARD.items() for example in examples(tag, tongue.lexicon.table)]


@pytest.mark.parametrize("example", ALL, ids=lambda one: f"{one.tag}: {one.said}")
def test_a_message_is_understood_as_its_example_says(example: Example) -> None:
    understood = got(example, HEARD)
    assert right(example.wanted, understood), understood


def test_every_template_stands_in_an_example() -> None:
    missing = [f"{tag}: {line}" for tag in HEARD for line in unexercised(tag, HEARD)]
    assert not missing, "\n".join(missing)
