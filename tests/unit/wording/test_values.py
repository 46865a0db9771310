"""How values are written."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from bot.craft.units import Quantity
from bot.facts import Count, Duration, Every, Fact, Hour, Option, Per, Ratio, Span, Term
from bot.wording.figures import bare, measurable
from bot.wording.values import Speaker, tidy
from bot.wording.voice import Voice

HEADER = r"""msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\n"
"Plural-Forms: nplurals=2; plural=(n {rule});\n"
{more}
"""

ENGLISH = HEADER.replace("{rule}", "!= 1").replace("{more}", "")

SWAHILI = (
    HEADER.replace("{rule}", "!= 1").replace("{more}", r'"X-Hours: swahili\n"')
    + """
msgid "value.hour"
msgstr "saa {hour} {part} ({clock})"

msgid "hours.morning"
msgstr "asubuhi"

msgid "hours.night"
msgstr "usiku"

msgid "hours.afternoon"
msgstr "mchana"

msgid "hours.evening"
msgstr "jioni"
"""
)

HINDI = (
    HEADER.replace("{rule}", "> 1").replace("{more}", '"X-Digits: ०१२३४५६७८९\\n"')
    + """
msgid "noun.tank"
msgid_plural "noun.tank"
msgstr[0] "{n} टंकी"
msgstr[1] "{n} टंकियाँ"
"""
)


def litres(value: str) -> Quantity:
    return Quantity(Decimal(value), "litre")


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (litres("4"), "4 L"),
        (litres("4.0"), "4 L"),
        (litres("0.25"), "250 mL"),
        (litres("0"), "0 L"),
        (Quantity(Decimal(1500), "millilitre"), "1.5 L"),
        (Quantity(Decimal(1500), "gram"), "1.5 kg"),
        (Quantity(Decimal("0.5"), "kilogram"), "500 g"),
        (Quantity(Decimal(1500), "litre"), "1500 L"),
        (Quantity(Decimal("28.5"), "degree_celsius"), "28.5 C"),
        (Quantity(Decimal(1), "acre"), "1 acre"),
        (Quantity(Decimal("0.5"), "acre"), "0.5 acres"),
        (Quantity(Decimal(3), "vara_cuadrada"), "3 vara cuadrada"),
        (Count(Decimal(1), "tank"), "1 tank"),
        (Count(Decimal(3), "tank"), "3 tanks"),
        (Count(Decimal("1.0"), "tank"), "1 tank"),
        (Count(Decimal(2), "ladle"), "2 ladle"),
        (Duration(Decimal(5), "day"), "5 days"),
        (Every(10, "day"), "every 10 days"),
        (Every(1, "day"), "every day"),
        (Ratio(Decimal(1), Decimal(3)), "1:3"),
        (Per(Quantity(Decimal(250), "millilitre"), Count(Decimal(1), "plant")), "250 mL a plant"),
        (Per(litres("40"), Quantity(Decimal(1), "acre")), "40 L an acre"),
        (Per(Quantity(Decimal(30), "millilitre"), litres("15")), "30 mL per 15 L"),
        (Per(litres("2"), Count(Decimal(1), "ladle")), "2 L per 1 ladle"),
        (Span(litres("2"), litres("3")), "2-3 L"),
        (Span(litres("0.5"), litres("2")), "500 mL - 2 L"),
        (Term("use", "leaf"), "leaf spray"),
        (Term("use", "roof_top"), "roof top"),
        (Term("country", "KE"), "Kenya"),
        (Term("country", "QQ"), "QQ"),
        (Term("language", "qzz"), "qzz"),
        (Term("language", ""), ""),
        (("a", "b", "c"), "a, b and c"),
        ((), ""),
        (Option(3, Term("use", "soil")), "soil drench"),
        (None, ""),
        ("B1", "B1"),
        (1500, "1500"),
        (Decimal("1234567.891"), "1234567.89"),
        (Decimal(1) / 3, "0.333"),
        (Decimal("9" * 80), "9" * 80),
        (Decimal("-0.5"), "-0.5"),
        (date(2026, 3, 6), "Fri 6 Mar"),
        (time(6), "06:00"),
        (datetime(2026, 3, 6, 4, 30, tzinfo=UTC), "Fri 6 Mar 04:30"),
        (Hour(datetime(2026, 3, 6, 4, 30, tzinfo=UTC)), "Fri 6 Mar 04:30"),
    ],
)
def test_a_value_is_written_the_way_a_grower_measures_it(value: Any, said: str) -> None:
    assert Speaker(Voice()).value(value) == said


@pytest.mark.parametrize("value", [True, object(), 1.5])
def test_a_value_without_words_is_an_error_of_its_author(value: Any) -> None:
    with pytest.raises(TypeError, match="has no words"):
        Speaker(Voice()).value(value)


def test_a_template_may_ask_for_the_number_alone() -> None:
    speaker = Speaker(Voice())
    assert speaker.value(litres("0.25"), "number") == "250"
    assert speaker.value(Count(Decimal(3), "tank"), "number") == "3"


def test_a_tuple_may_be_laid_out_otherwise() -> None:
    speaker = Speaker(Voice())
    assert speaker.value(("a", "b"), "lines") == "a\nb"
    assert speaker.value(("a", "b"), "commas") == "a, b"
    assert speaker.value((litres("4"), litres("12")), "plus") == "4 L + 12 L"
    assert speaker.value((litres("4"), litres("12")), "number") == "4 and 12"


def test_near_days_keep_their_date_because_a_message_may_be_read_late() -> None:
    speaker = Speaker(Voice(today=date(2026, 3, 5)))
    assert speaker.day(date(2026, 3, 5), "near") == "today Thu 5 Mar"
    assert speaker.day(date(2026, 3, 6), "near") == "tomorrow Fri 6 Mar"
    assert speaker.day(date(2026, 3, 4), "near") == "yesterday Wed 4 Mar"
    assert speaker.day(date(2026, 3, 9), "near") == "Mon 9 Mar"
    assert speaker.day(date(2026, 3, 5)) == "Thu 5 Mar"
    assert Speaker(Voice()).day(date(2026, 3, 5), "near") == "Thu 5 Mar"


def test_a_day_half_a_year_off_carries_its_year() -> None:
    assert Speaker(Voice(today=date(2026, 3, 5))).day(date(2027, 3, 6)) == "Sat 6 Mar 2027"


def test_a_moment_is_the_readers_wall_time() -> None:
    speaker = Speaker(Voice(zone="Asia/Kolkata", today=date(2026, 3, 6)))
    at = datetime(2026, 3, 6, 20, 0, tzinfo=UTC)
    assert speaker.value(at) == "Sat 7 Mar 01:30"
    assert speaker.value(at, "near") == "tomorrow Sat 7 Mar 01:30"
    assert speaker.value(at, "hour") == "01:30"
    assert speaker.value(at, "day") == "Sat 7 Mar"


def test_the_decimal_mark_is_the_countrys(root: Path) -> None:
    assert Speaker(Voice("es"), root).value(litres("1.5")) == "1,5 l"
    assert Speaker(Voice("es", country="GT"), root).value(litres("1.5")) == "1.5 l"
    assert Speaker(Voice("en", country="ZZ")).value(litres("1.5")) == "1.5 L"
    assert Speaker(Voice("en", country="US")).value(date(2026, 3, 6)) == "Fri Mar 6"
    assert Speaker(Voice("en", country="GB")).value(date(2026, 3, 6)) == "Fri 6 Mar"


@pytest.fixture
def root(tmp_path: Path) -> Path:
    for tag, text in (("en", ENGLISH), ("es", ENGLISH), ("sw", SWAHILI), ("hi", HINDI)):
        (tmp_path / tag).mkdir()
        (tmp_path / tag / "messages.po").write_text(text, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("wall", "said"),
    [
        (time(7), "saa 1 asubuhi (07:00)"),
        (time(6), "saa 12 asubuhi (06:00)"),
        (time(13, 30), "saa 7:30 mchana (13:30)"),
        (time(18), "saa 12 jioni (18:00)"),
        (time(0), "saa 6 usiku (00:00)"),
        (time(20), "saa 2 usiku (20:00)"),
    ],
)
def test_swahili_hours_count_from_dawn_with_the_clock_beside(
    root: Path, wall: time, said: str
) -> None:
    assert Speaker(Voice("sw"), root).hour(wall) == said


def test_hours_follow_the_readers_own_habit_first(root: Path) -> None:
    assert Speaker(Voice("sw", hours="24"), root).hour(time(7)) == "07:00"
    assert Speaker(Voice("en", hours="12"), root).hour(time(18, 5)) == "6:05 PM"
    assert Speaker(Voice("sw"), root, short=True).hour(time(7)) == "07:00"


def test_devanagari_digits_come_on_request(root: Path) -> None:
    three = Count(Decimal(3), "tank")
    assert Speaker(Voice("hi"), root).value(three) == "3 टंकियाँ"
    assert Speaker(Voice("hi", digits="native"), root).value(three) == "३ टंकियाँ"
    assert Speaker(Voice("en", digits="native"), root).value(28) == "28"


def test_languages_are_named_by_cldr(root: Path) -> None:
    assert Speaker(Voice("es"), root).value(Term("language", "sw")) == "suajili"
    assert "Hindi" in Speaker(Voice("en"), root).value(Term("language", "hi-Latn"))


def test_a_unit_the_catalogue_lacks_is_named_as_cldr_names_it(root: Path) -> None:
    speaker = Speaker(Voice("sw"), root)
    assert speaker.value(litres("4")) == "lita 4"
    assert speaker.value(Quantity(Decimal(2), "square_metre")) == "m2 2"
    assert not speaker.fell_back


@dataclass(frozen=True, slots=True)
class Lost(Fact):
    words = "no.such.words"
    amount: Quantity
    at: str


def test_a_fact_without_words_still_brings_its_values() -> None:
    speaker = Speaker(Voice())
    assert speaker.fact(Lost(litres("4"), "B1")) == "4 L, B1"
    assert tuple(speaker.fell_back) == ("no.such.words",)


def test_an_unknown_language_is_answered_in_english_and_said_so() -> None:
    speaker = Speaker(Voice("tlh"))
    assert speaker.value(Count(Decimal(3), "tank")) == "3 tanks"
    assert tuple(speaker.fell_back) == ("language tlh",)


def test_amounts_move_to_the_unit_that_needs_no_zeros() -> None:
    assert measurable(litres("-0.25")).unit == "millilitre"
    assert measurable(Quantity(Decimal(2), "acre")) == Quantity(Decimal(2), "acre")


def test_cldr_text_is_written_in_phone_letters() -> None:
    assert bare("4\u202fm²  28\u00a0°C") == "4 m2 28 C"


def test_an_empty_value_leaves_no_hole() -> None:
    assert tidy("mix  4 L , then .") == "mix 4 L, then."
    assert not tidy("")


@dataclass(frozen=True, slots=True)
class Whole(Fact):
    words = "whole"
    part: Fact
    rest: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class Piece(Fact):
    words = "piece"
    name: str


def test_a_fact_inside_a_fact_gets_no_capital_and_a_slip_costs_only_its_place(
    tmp_path: Path,
) -> None:
    (tmp_path / "en").mkdir()
    text = ENGLISH + '\nmsgid "whole"\nmsgstr "do {part}, {gone} then {rest:commas}"\n'
    text += '\nmsgid "piece"\nmsgstr "stir {name}"\n'
    (tmp_path / "en" / "messages.po").write_text(text, encoding="utf-8")
    speaker = Speaker(Voice(), tmp_path)
    whole = Whole(Piece("B1"), (Piece("B2"), Piece("B3")))
    assert speaker.fact(whole) == "Do stir B1, then stir B2, stir B3"
    assert tuple(speaker.fell_back) == ("{gone}",)
