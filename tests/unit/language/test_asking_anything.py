"""Whatever is written is understood, asked about or said back; nothing raises."""

from __future__ import annotations

import string

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.language import tongues, understand
from bot.language.examples import examples, hearing

HEARD = tongues()
WORDS = sorted({word for tongue in HEARD.values() for word in tongue.own if len(word) < 20})[::7]

HOSTILE = [
    "1/2 " * 10,
    "monday " * 12,
    "10:30 " * 12,
    "9**9**9",
    "7" * 160,
    "7" * 480,
    "1-" * 240,
    "every " * 100,
    "million " * 200,
    "stirred\x00 b1",
    "31/02/2025",
    "29/2",
    "1/0",
    "0:0",
    "1:2:3:4",
    "1e400 l",
    "nan l",
    "∞ l",
    "½½",
    "३ ٣ ３ Ⅻ ² ⅐ ㎖ ℃",
    "st\u200birred\u202e b1\ufeff",
    "every 0 days",
    "year 99999",
    "+254 712 345678 http://example.org/?a=1 stirred",
    "how much " * 60,
    "stirred and " * 40,
    "spray tomato and " * 30,
]


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
@pytest.mark.parametrize("tag", sorted(HEARD))
def test_hostile_messages_end_in_something_to_say(text: str, tag: str) -> None:
    understood = understand(text, HEARD, hearing(tag))
    assert understood.requests or understood.question or understood.doubt


@settings(max_examples=150, deadline=None)
@given(text=st.text(max_size=120), tag=st.sampled_from(sorted(HEARD)))
def test_any_text_is_taken(text: str, tag: str) -> None:
    understood = understand(text, HEARD, hearing(tag))
    assert understood.requests or understood.question or understood.doubt


@settings(max_examples=250, deadline=None)
@given(
    words=st.lists(
        st.sampled_from(WORDS) | st.text(string.digits, min_size=1, max_size=4) | st.just(","),
        max_size=12,
    ),
    tag=st.sampled_from(sorted(HEARD)),
)
def test_any_mixture_of_known_words_is_taken_the_same_way_each_time(
    words: list[str], tag: str
) -> None:
    text = " ".join(words)
    first = understand(text, HEARD, hearing(tag))
    assert first == understand(text, HEARD, hearing(tag))
    assert not (first.question and first.doubt)


def test_every_language_has_sixty_examples_and_every_kind_one() -> None:
    kinds = set(HEARD["en"].cues.shapes.kinds)
    for tag, tongue in HEARD.items():
        own = examples(tag, tongue.lexicon.table)
        assert len(own) >= 60
        told = {part.split()[0] for one in own for part in one.wanted.split(" & ")}
        assert kinds <= told, f"{tag}: {sorted(kinds - told)}"
