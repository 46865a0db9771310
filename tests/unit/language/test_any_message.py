"""Whatever a phone can send, the reader ends, holds together and reads the same again."""

from datetime import datetime

from hypothesis import given, settings
from hypothesis import strategies as st

from bot.language.lexicon import load, tags
from bot.language.read import read

_WORDS = sorted(
    {
        word
        for tag in tags()
        for entries in load(tag).phrases.values()
        for e in entries
        for word in e[0]
    }
)
_PIECE = st.one_of(
    st.sampled_from(_WORDS),
    st.from_regex(r"[0-9]{1,4}([.,:/x-][0-9]{1,3}){0,2}[a-z]{0,2}", fullmatch=True),
    st.sampled_from(["½", "¼", "-", "/", ":", "+", "°", "%", "'", '"', ",", ".", "(", "#", "x"]),
    st.text(max_size=6),
)
_MESSAGE = st.one_of(
    st.lists(_PIECE, max_size=14).map(" ".join),
    st.lists(_PIECE, max_size=14).map("".join),
    st.text(max_size=160),
)
_MOMENT = st.datetimes(datetime(2001, 1, 1), datetime(2098, 12, 31))  # noqa: DTZ001 - wall time


@settings(max_examples=400, deadline=None)
@given(_MESSAGE, st.sampled_from(tags()), _MOMENT)
def test_any_message_is_read_and_read_alike(text: str, tag: str, ref: datetime) -> None:
    reading = read(text, load(tag), ref)
    assert reading == read(text, load(tag), ref)
    for mention in reading.mentions:
        assert 0 <= mention.start < mention.end <= len(reading.tokens)
    for token in reading.tokens:
        assert reading.text[token.start : token.end].strip() != ""
    for mention in reading.of("quantity", "number"):
        value = mention.value if mention.kind == "number" else mention.value.value
        assert value.is_finite()
