"""Codes: how they look, how long they hold, and what a guesser gets."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta

import pytest

from bot.confirming import MOST_TRIES
from bot.craft.codes import DIGITS, LETTERS, PINS, SIGNS, invite_code, normal, pin
from bot.language.hearing import Hearing
from bot.language.understand import tongues, understand

LOOK_ALIKE = set("0O1IL2Z5S8BGUV")


def some_codes(n: int) -> list[str]:
    chance = random.Random(3)
    return [invite_code(f"{chance.getrandbits(64):016x}") for _ in range(n)]


def test_a_code_has_six_signs_and_none_that_looks_like_another() -> None:
    for code in some_codes(500):
        assert len(code) == 6
        assert not LOOK_ALIKE & set(code)
        assert code[0] in LETTERS
        assert code[1] in DIGITS
        assert set(code) <= set(SIGNS)


def test_codes_spread_over_all_signs() -> None:
    assert set("".join(some_codes(500))) == set(SIGNS)
    assert len(set(some_codes(500))) == 500


def test_a_number_to_confirm_is_no_year_and_no_time_of_day() -> None:
    drawn = [pin(str(n)) for n in range(2000)]
    assert min(drawn) >= 4000
    assert max(drawn) <= 9999


@pytest.mark.parametrize("typed", ["K7QM4X", "k7qm4x", " K7Q M4X ", "K7Q-M4X"])
def test_a_code_is_the_same_however_it_is_typed(typed: str) -> None:
    assert normal(typed) == "K7QM4X"


@pytest.mark.parametrize("tag", sorted(tongues()))
def test_a_code_alone_is_heard_in_every_language_and_in_small_letters(tag: str) -> None:
    heard = tongues()
    hearing = Hearing(datetime(2026, 3, 2, 9, tzinfo=UTC), language=tag)
    for code in some_codes(40):
        for said in (code, code.lower()):
            (request,) = understand(said, heard, hearing).requests
            assert request.kind == "group"
            assert normal(request.slots["code"]) == code


def test_guessing_the_number_takes_years_at_the_tries_there_are() -> None:
    a_day = timedelta(days=1)
    assert PINS / MOST_TRIES * a_day > timedelta(days=5 * 365)
