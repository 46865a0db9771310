"""What can be read two ways: the reader takes the likelier and says that it doubts."""

from datetime import date, datetime, time
from decimal import Decimal

import pytest

from bot.craft.units import Quantity
from bot.facts import Count, Duration, Per, Ratio, Span
from bot.language.lexicon import load
from bot.language.read import read
from bot.language.reading import Doubt

REF = datetime(2026, 3, 4, 10)  # noqa: DTZ001 - a Wednesday, in wall time


def _values(text: str, tag: str = "en") -> list[tuple[str, object]]:
    return [
        (mention.kind, mention.value)
        for mention in read(text, load(tag), REF).mentions
        if mention.kind != "doubt"
    ]


def _doubts(text: str, tag: str = "en") -> list[Doubt]:
    return [mention.value for mention in read(text, load(tag), REF).of("doubt")]


def _ratio(culture: int, water: int) -> Ratio:
    return Ratio(Decimal(culture), Decimal(water))


@pytest.mark.parametrize(
    ("text", "tag", "kind"),
    [
        ("1:3", "en", "ratio"),
        ("leaf spray 1:20", "en", "ratio"),
        ("16 l at 1:50", "en", "ratio"),
        ("at 1:30", "en", "time"),
        ("1:30 pm", "en", "time"),
        ("6:30", "en", "time"),
        ("subah 1:30 baje", "hi-Latn", "time"),
    ],
)
def test_two_numbers_with_a_colon_are_a_ratio_unless_they_are_said_as_a_time(
    text: str, tag: str, kind: str
) -> None:
    assert kind in [found for found, _ in _values(text, tag)]
    assert {"ratio": "time", "time": "ratio"}[kind] not in [f for f, _ in _values(text, tag)]


def test_one_in_three_is_read_as_one_to_three_and_doubted() -> None:
    assert _values("1 in 3") == [("ratio", _ratio(1, 3))]
    assert _doubts("1 in 3") == [Doubt("one_in", (_ratio(1, 3), _ratio(1, 2)))]
    assert _values("uno en tres", "es") == [("ratio", _ratio(1, 3))]


def test_one_third_is_a_part_before_a_unit_a_ratio_near_mixing_and_else_doubted() -> None:
    third = Decimal(1) / Decimal(3)
    assert _values("1/3 tank") == [("count", Count(third, "tank"))]
    assert _values("mix 1/3") == [("ratio", _ratio(1, 3))]
    assert _values("1/3") == [("number", third)]
    assert _doubts("1/3") == [Doubt("fraction", (third, _ratio(1, 3)))]
    assert not _doubts("1/3 l")


def test_one_to_three_is_a_ratio_and_with_a_unit_a_range() -> None:
    litres = [Quantity(Decimal(n), "litre") for n in (1, 3)]
    assert _values("1 to 3") == [("ratio", _ratio(1, 3))]
    assert _values("1 to 3 l") == [
        ("span", Span(*litres)),
        ("quantity", litres[0]),
        ("quantity", litres[1]),
    ]


def test_half_a_tank_is_half_a_count_of_tanks() -> None:
    assert _values("half a tank") == [("count", Count(Decimal("0.5"), "tank"))]


def test_a_number_that_ends_in_one_may_be_litres_without_a_space() -> None:
    assert _doubts("2001") == [Doubt("digit", (Decimal(2001), Quantity(Decimal(200), "litre")))]
    assert _values("200l") == [("quantity", Quantity(Decimal(200), "litre"))]


@pytest.mark.parametrize(
    ("text", "tag", "value"),
    [
        ("1,500 l", "en", "1500"),
        ("1.500 l", "en", "1.500"),
        ("1.500 l", "pt", "1500"),
        ("1,500 l", "pt", "1.500"),
        ("1,5 l", "en", "1.5"),
        ("1.5 l", "fr", "1.5"),
    ],
)
def test_a_mark_before_three_digits_is_read_by_the_language(
    text: str, tag: str, value: str
) -> None:
    assert _values(text, tag) == [("quantity", Quantity(Decimal(value), "litre"))]
    doubts = _doubts(text, tag)
    assert bool(doubts) == ("500" in text)
    assert all(doubt.about == "grouping" for doubt in doubts)


@pytest.mark.parametrize("text", ["1.5.2026", "1/5/2026", "1-5-2026"])
def test_dates_in_digits_name_the_day_first(text: str) -> None:
    assert _values(text) == [("date", date(2026, 5, 1))]


def test_a_day_and_month_that_cannot_be_turn_around() -> None:
    assert _values("5/13/2026") == [("date", date(2026, 5, 13))]


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("5 days old", "age"),
        ("5 days ago", "date"),
        ("every 5 days", "every"),
        ("in 5 days", "date"),
        ("after 5 days", "date"),
        ("5 days", "duration"),
    ],
)
def test_five_days_are_an_age_an_interval_a_day_or_a_length(text: str, kind: str) -> None:
    kinds = [found for found, _ in _values(text)]
    assert kind in kinds
    assert set(kinds) <= {kind, "duration"} if kind == "age" else set(kinds) == {kind}


@pytest.mark.parametrize(
    ("text", "value"), [("2 lakh", 200_000), ("1 crore", 10_000_000), ("3 dozen", 36)]
)
def test_lakh_crore_and_dozen_are_numbers(text: str, value: int) -> None:
    assert _values(text) == [("number", Decimal(value))]


def test_one_letter_that_may_be_several_units_is_settled_by_its_neighbours_or_doubted() -> None:
    assert _values("28c in the shed") == [("quantity", Quantity(Decimal(28), "degree_celsius"))]
    assert not _doubts("28c in the shed")
    assert _values("2 c sugar") == [("quantity", Quantity(Decimal(2), "cup"))]
    assert [doubt.about for doubt in _doubts("2 c")] == ["unit"]


def test_four_before_a_crop_is_no_unit_and_m_is_never_a_million() -> None:
    assert _values("4 tomato") == [("number", Decimal(4))]
    assert _values("3 m") == [("quantity", Quantity(Decimal(3), "metre"))]


def test_are_is_an_area_in_french_and_a_verb_in_english() -> None:
    assert _values("5 ares", "fr") == [("quantity", Quantity(Decimal(5), "are"))]
    assert _values("there 5 are ready") == [("number", Decimal(5))]


@pytest.mark.parametrize(
    ("text", "day"), [("kal dala tha", 3), ("kal dalunga", 5), ("parso dala tha", 2), ("kal", 5)]
)
def test_kal_and_parso_go_by_the_tense(text: str, day: int) -> None:
    assert _values(text, "hi-Latn") == [("date", date(2026, 3, day))]


def test_kal_without_a_verb_is_doubted() -> None:
    assert _doubts("kal", "hi-Latn") == [Doubt("tense", (date(2026, 3, 5), date(2026, 3, 3)))]
    assert not _doubts("kal dalunga", "hi-Latn")


def test_the_swahili_day_begins_at_dawn() -> None:
    assert _values("saa 12 asubuhi", "sw") == [("time", time(6))]
    assert _values("saa 12 jioni", "sw") == [("time", time(18))]
    assert _values("saa 18:00", "sw") == [("time", time(18))]


def test_a_size_is_no_count() -> None:
    assert _values("200 l barrel") == [("quantity", Quantity(Decimal(200), "litre"))]


def test_an_age_is_also_a_length_of_time() -> None:
    found = dict(_values("12 days old"))
    assert found == {
        "duration": Duration(Decimal(12), "day"),
        "age": Duration(Decimal(12), "day"),
    }


def test_an_amount_for_each_of_something_names_both() -> None:
    amount = Quantity(Decimal(30), "millilitre")
    assert read("30 ml per 15 l", load("en"), REF).of("per")[0].value == Per(
        amount, Quantity(Decimal(15), "litre")
    )
    assert read("30 ml a plant", load("en"), REF).of("per")[0].value == Per(
        amount, Count(Decimal(1), "plant")
    )
    assert read("30 ml per 10 plants", load("en"), REF).of("per")[0].value == Per(
        amount, Count(Decimal(10), "plant")
    )


def test_an_amount_per_nothing_is_only_an_amount() -> None:
    assert not read("30 ml per", load("en"), REF).of("per")
