"""SMS segments against the published alphabet and two independent reference libraries.

Marks: V, the value was seen in a stored page or came from running the named library; C, computed
from the published sizes.
"""

from __future__ import annotations

import codecs

import gsm0338
import pytest
import smsutil
from hypothesis import example, given
from hypothesis import strategies as st

from bot.wording.segments import (
    GSM_DEFAULT,
    GSM_EXTENSION,
    gsm_codes,
    is_gsm,
    room,
    segments,
    split,
    units,
)

REFERENCE = gsm0338.Codec()
GSM_CHARACTERS = sorted((set(GSM_DEFAULT) - {"\x1b"}) | set(GSM_EXTENSION))
gsm_texts = st.text(st.sampled_from(GSM_CHARACTERS), min_size=1, max_size=500)
any_texts = st.text(
    st.one_of(
        st.sampled_from(["a", "€", "[", "ñ", "á", "क", "ि", "🌱", "\u2028"]),
        st.characters(exclude_categories=["Cs"], exclude_characters="\x1b"),
    ),
    min_size=1,
    max_size=400,
)


@pytest.mark.parametrize(
    ("header_octets", "gsm", "ucs2"),
    [(0, 160, 70), (6, 153, 67), (7, 152, 66)],
)
def test_one_sms_holds_what_the_standard_says(header_octets: int, gsm: int, ucs2: int) -> None:
    # Source: 3GPP TS 23.038 and 23.040: 140 octets; 160 V, the others C.
    assert room(gsm=True, header_octets=header_octets) == gsm
    assert room(gsm=False, header_octets=header_octets) == ucs2


@pytest.mark.parametrize(
    ("char", "code"),
    [
        ("^", 0x14),
        ("{", 0x28),
        ("}", 0x29),
        ("\\", 0x2F),
        ("[", 0x3C),
        ("~", 0x3D),
        ("]", 0x3E),
        ("|", 0x40),
        ("€", 0x65),
    ],
)
def test_a_character_of_the_extension_is_an_escape_and_its_code(char: str, code: int) -> None:
    # Source: 3GPP TS 23.038, 6.2.1.1, as gsm0338 1.1.0 has it (V).
    assert gsm_codes(char) == bytes([0x1B, code])
    assert units(char) == 2


def test_the_default_alphabet_has_127_characters_and_the_escape() -> None:
    # Source: 3GPP TS 23.038, 6.2.1; gsm0338 1.1.0 run (V).
    assert len(GSM_DEFAULT) == 128
    assert len(set(GSM_DEFAULT) - {"\x1b"}) == 127
    for code, char in enumerate(GSM_DEFAULT):
        if char != "\x1b":
            assert REFERENCE.decode(bytes([code]))[0] == char


@pytest.mark.parametrize("char", list("`°½²–’“”•₹\táíóúçâãêôõ"))
def test_marks_that_bring_a_text_into_ucs2(char: str) -> None:
    # Source: 3GPP TS 23.038, 6.2.1; gsm0338 1.1.0 run (V).
    assert not is_gsm(char)
    with pytest.raises(UnicodeEncodeError):
        REFERENCE.encode(char)


@pytest.mark.parametrize("char", list("àèéìòùñüöäåÇÉ"))
def test_letters_with_marks_that_stay_in_the_default_alphabet(char: str) -> None:
    # Source: 3GPP TS 23.038, 6.2.1; gsm0338 1.1.0 run (V).
    assert is_gsm(char)
    assert REFERENCE.encode(char)[0] == gsm_codes(char)


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("a" * 160, [160]),
        ("a" * 161, [153, 8]),
        ("a" * 306, [153, 153]),
        ("a" * 307, [153, 153, 1]),
        ("a" * 459, [153, 153, 153]),
        ("a" * 460, [153, 153, 153, 1]),
        ("€" * 80, [80]),
        ("€" * 81, [76, 5]),
        ("a" * 152 + "€" + "a" * 10, [152, 11]),
        ("क" * 70, [70]),
        ("क" * 71, [67, 4]),
        ("क" * 134, [67, 67]),
        ("क" * 135, [67, 67, 1]),
        ("क" * 201, [67, 67, 67]),
        ("क" * 202, [67, 67, 67, 1]),
        ("🌱" * 35, [35]),
        ("🌱" * 36, [33, 3]),
    ],
)
def test_texts_split_where_the_reference_splits_them(text: str, parts: list[int]) -> None:
    # Source: smsutil 1.1.3 run (V); sizes from 3GPP TS 23.040.
    assert [len(part) for part in split(text)] == parts
    assert [len(part.content) for part in smsutil.split(text).parts] == parts


@given(any_texts)
@example("a" * 153 + "€" * 3)
@example("क" * 66 + "🌱🌱")
def test_every_text_splits_as_smsutil_splits_it(text: str) -> None:
    reference = smsutil.split(text)
    assert list(split(text)) == [part.content for part in reference.parts]
    assert segments(text) == len(reference.parts)


@given(gsm_texts)
def test_every_text_of_the_alphabet_encodes_as_gsm0338_encodes_it(text: str) -> None:
    assert gsm_codes(text) == REFERENCE.encode(text)[0]
    assert REFERENCE.decode(gsm_codes(text))[0] == text
    assert codecs.decode(gsm_codes(text), "gsm03.38") == text
