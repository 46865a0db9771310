"""Splitting and plain letters: what must hold for any text."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from bot.wording.segments import Plain, gsm_codes, is_gsm, plain, room, segments, split, units

texts = st.text(
    st.one_of(st.sampled_from(list("a€[ñá½²°🌱क \n1")), st.characters(exclude_categories=["Cs"])),
    max_size=400,
)


@given(texts, st.sampled_from([6, 7]))
@example("", 6)
def test_parts_join_to_the_text_and_each_fits_beside_its_header(text: str, header: int) -> None:
    parts = split(text, header)
    assert "".join(parts) == text
    gsm = is_gsm(text)
    assert len(parts) == segments(text) or header == 7
    if len(parts) > 1:
        assert all(parts)
        for part in parts:
            alone = len(gsm_codes(part)) if gsm else len(part.encode("utf-16-be")) // 2
            assert alone <= room(gsm=gsm, header_octets=header)


def test_an_empty_text_is_one_sms_of_nothing() -> None:
    assert split("") == ("",)
    assert units("") == 0


def test_a_character_outside_the_alphabet_is_named() -> None:
    with pytest.raises(ValueError, match="'½' is not in the GSM alphabet"):
        gsm_codes("1½")


def test_the_escape_itself_is_no_character() -> None:
    assert not is_gsm("\x1b")


@pytest.mark.parametrize(
    ("text", "became"),
    [
        ("Mezcle 1½ l en 10 l", "Mezcle 1 1/2 l en 10 l"),
        ("½ l", "1/2 l"),
        ("½½", "1/2  1/2"),
        ("5¼6", "5 1/4 6"),
        ("10² m²", "10^2 m2"),
        ("²5", "2 5"),
        ("CO₂", "CO2"),
        ("log₂ 3₂", "log2 3_2"),
        ("25 °C, 77°F, 30°", "25 C, 77F, 30 deg"),
        ("está, você, fermentação", "esta, voce, fermentaçao".replace("ç", "c")),
        ("a\u0301rbol", "arbol"),
        ("Mañana é hoje", "Mañana é hoje"),
        ("“x” – ‘y’ …", "\"x\" - 'y' ..."),
        ("−5 × 3 ≤ ₹20", "-5 x 3 <= Rs20"),
        ("cœur ﬁn Łódź", "coeur fin Lodz"),
        ("１２ 𝟓 ㎖", "12 5 ml"),
        ("1º 2ª", "1o 2a"),
        ("a\u00a0b\u200b\tc", "a b c"),
        ("Ɓara ŋ", "Bara ng"),
    ],
)
def test_plain_letters_keep_what_an_amount_says(text: str, became: str) -> None:
    found = plain(text)
    assert found.text == became
    assert is_gsm(found.text)
    assert not found.left
    assert bool(found.changed) == (became != text)


@pytest.mark.parametrize("text", ["कल — ½", "①", "2·5", "10⁻³ ½", "x\u0302\u0301", "🌱 está"])
def test_a_text_that_cannot_be_plain_is_left_whole_and_says_why(text: str) -> None:
    found = plain(text)
    assert found.text == text
    assert found.left
    assert not found.changed


def test_a_change_is_named_once() -> None:
    assert plain("á á é").changed == (("á", "a"),)


@given(texts)
def test_plain_letters_either_fit_the_alphabet_or_change_nothing(text: str) -> None:
    found = plain(text)
    if found.left:
        assert found == Plain(text, left=found.left)
    else:
        assert is_gsm(found.text)
        assert plain(found.text) == Plain(found.text)
        assert units(found.text) == len(gsm_codes(found.text))
