"""Parts put together into the messages they were."""

from __future__ import annotations

import random
from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.channels.modem.parcels import Row
from bot.channels.modem.parts import NO_TEXT, PART_MISSING, SHIFT_TABLE, assembled, overdue
from bot.udh import part_headers
from bot.wording.segments import split

AT = datetime(2026, 3, 2, 7, 0)  # noqa: DTZ001 - as the daemon stores it


def row(number: int, text: str, udh: str = "", *, sender: str = "+254712345678") -> Row:
    return Row(
        number, sender, AT, text.encode("utf-16-be").hex().upper(), "Default_No_Compression", udh, 0
    )


def rows_of(text: str, key: str, start: int = 1) -> list[Row]:
    parts = split(text)
    headers = part_headers(key, len(parts)) if len(parts) > 1 else ("",)
    return [
        row(start + at, part, udh)
        for at, (part, udh) in enumerate(zip(parts, headers, strict=True))
    ]


@given(st.text(min_size=1, max_size=900), st.randoms(use_true_random=False))
def test_parts_in_any_order_and_twice_make_the_text_they_were(
    text: str, chance: random.Random
) -> None:
    clean = text.encode("utf-16-be", "replace").decode("utf-16-be")
    rows = rows_of(clean, "k")
    if len(rows) > 1:
        rows = rows + chance.sample(rows, 1)
    chance.shuffle(rows)
    [message] = assembled(rows)
    assert message.whole
    assert message.text() == clean
    assert message.fault() == ""
    assert sorted(message.ids) == sorted(one.id for one in rows)


def test_two_messages_under_one_reference_stay_apart() -> None:
    first, second = rows_of("a" * 200, "k"), rows_of("b" * 200, "k", start=3)
    found = assembled([first[0], second[0], first[1], second[1]])
    assert [len(message.text()) for message in found] == [200, 200]
    # Which second part belongs to which first cannot be told from the air; nothing is lost.
    assert "".join(sorted("".join(message.text() for message in found))) == "a" * 200 + "b" * 200


def test_one_reference_of_two_senders_is_two_messages() -> None:
    mine = rows_of("a" * 200, "k")
    theirs = [
        Row(one.id + 2, "+254700000000", AT, one.text_hex, one.coding, one.udh, 0) for one in mine
    ]
    assert [m.whole for m in assembled([mine[0], theirs[0], mine[1], theirs[1]])] == [True, True]


def test_what_lacks_a_part_is_overdue_only_after_its_wait() -> None:
    [message] = assembled(rows_of("a" * 400, "k")[:2])
    assert message.fault() == PART_MISSING
    since = {message.bundle: 10.0}
    assert overdue([message], since, now_s=309.0, wait_s=300.0) == []
    assert overdue([message], since, now_s=310.0, wait_s=300.0) == [message]
    assert overdue([message], {}, now_s=1000.0, wait_s=300.0) == []
    whole = assembled(rows_of("done", "k"))
    assert overdue(whole, {whole[0].bundle: 0.0}, now_s=999.0, wait_s=1.0) == []


def test_the_id_follows_from_the_content_and_not_from_the_row() -> None:
    [first], [again] = assembled(rows_of("done", "k")), assembled(rows_of("done", "k", start=9))
    [other] = assembled(rows_of("done.", "k"))
    assert first.outside_id() == again.outside_id() != other.outside_id()


@pytest.mark.parametrize(
    ("udh", "coding", "fault"),
    [
        ("03240106", "Default_No_Compression", SHIFT_TABLE),
        ("03250106", "Default_No_Compression", SHIFT_TABLE),
        ("0605040B8423F0", "Default_No_Compression", NO_TEXT),
        ("", "8bit", NO_TEXT),
        ("", "Unicode_No_Compression", ""),
    ],
)
def test_what_is_no_plain_text_says_so(udh: str, coding: str, fault: str) -> None:
    [message] = assembled([Row(1, "+254712345678", AT, "0061", coding, udh, 0)])
    assert message.fault() == fault
    assert "0061" in message.raw()


def test_a_text_that_is_no_hex_or_half_a_pair_breaks_nothing() -> None:
    [message] = assembled([Row(1, "+254712345678", AT, "xyz", "", "", 0)])
    assert message.text() == ""
    [half] = assembled([Row(1, "+254712345678", AT, "D83C", "", "", 0)])
    assert half.text() == "\ufffd"
