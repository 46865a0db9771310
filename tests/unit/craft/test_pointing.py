"""Barrels pointed at by what they are beside the others."""

from datetime import UTC, datetime

import pytest

from bot.craft.batches import Batch
from bot.craft.pointing import pointed


def _barrel(code: str, litres: int, day: int, name: str = "") -> Batch:
    started_at = datetime(2026, 3, day, tzinfo=UTC)
    return Batch(code, code, "g", "UTC", name=name, size_ml=litres * 1000, started_at=started_at)


BARRELS = (_barrel("B1", 200, 2), _barrel("B2", 60, 1), _barrel("B3", 100, 3, "the oldest"))


@pytest.mark.parametrize(
    ("word", "code"), [("largest", "B1"), ("smallest", "B2"), ("oldest", "B2"), ("newest", "B3")]
)
def test_a_barrel_is_pointed_at_by_what_it_alone_is(word: str, code: str) -> None:
    assert [each.code for each in pointed(BARRELS, (word,))[0]] == [code]


def test_a_lone_barrel_is_all_of_these() -> None:
    assert pointed(BARRELS[:1], ("smallest",)) == (BARRELS[:1], "")


def test_where_two_are_as_large_no_word_tells_them_apart() -> None:
    twins = (_barrel("B1", 200, 2), _barrel("B2", 200, 1))
    assert pointed(twins, ("largest",)) == ((), "largest")


def test_where_one_size_is_known_that_one_is_meant() -> None:
    known = (_barrel("B1", 200, 2), _barrel("B2", 0, 1))
    assert [each.code for each in pointed(known, ("largest",))[0]] == ["B1"]


def test_a_name_goes_before_what_it_says() -> None:
    assert [each.code for each in pointed(BARRELS, ("the oldest",))[0]] == ["B3"]


def test_a_word_that_points_at_nothing_is_given_back() -> None:
    assert pointed(BARRELS, ("blue",)) == ((), "blue")
