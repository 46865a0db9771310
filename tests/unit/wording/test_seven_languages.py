"""Numbers, hours, days and amounts as each language of the seven writes them."""

from __future__ import annotations

import re
from datetime import date, time
from decimal import Decimal

import pytest

from bot.craft.units import Quantity
from bot.messages import Manner
from bot.requests.settings import HourSet
from bot.wording.catalogue import ENGLISH, load, tags
from bot.wording.coverage import back_check, is_caution
from bot.wording.say import say
from bot.wording.values import Speaker
from bot.wording.voice import Voice

SEVEN = ("en", "es", "fr", "hi", "hi-Latn", "pt", "sw")


def litres(value: str) -> Quantity:
    return Quantity(Decimal(value), "litre")


def test_seven_languages_are_said() -> None:
    assert set(tags()) == set(SEVEN)


@pytest.mark.parametrize("tag", SEVEN)
def test_no_amount_can_be_read_a_thousand_times_too_small_or_too_big(tag: str) -> None:
    speaker = Speaker(Voice(tag))
    for value in ("1500", "12345", "1.5", "0.75", "1000", "999.5"):
        said = speaker.value(litres(value))
        digits = re.findall(r"\d+(?:[.,]\d+)?", said)
        assert len(digits) == 1, said
        # Three figures behind a mark would read as a thousand where that mark parts thousands.
        assert not re.search(r"[.,\s]\d{3}(?!\d)", digits[0]), said


@pytest.mark.parametrize(
    ("tag", "said"),
    [
        ("en", "1.5 L"),
        ("es", "1.5 L"),
        ("fr", "1,5 L"),
        ("hi", "1.5 लीटर"),
        ("hi-Latn", "1.5 L"),
        ("pt", "1,5 L"),
        ("sw", "lita 1.5"),
    ],
)
def test_the_decimal_mark_is_the_languages(tag: str, said: str) -> None:
    # Source: CLDR 47 by Babel; Spanish is Latin American here, so with a point in Mexico.
    country = "MX" if tag == "es" else ""
    assert Speaker(Voice(tag, country=country)).value(litres("1.5")) == said


@pytest.mark.parametrize(
    ("tag", "said"),
    [
        ("en", "Mon 2 Mar"),
        ("hi", "सोम 2 मार्च"),
        ("hi-Latn", "Som 2 Mar"),
        ("sw", "Jumatatu 2 Mac"),
    ],
)
def test_months_and_days_have_their_local_names(tag: str, said: str) -> None:
    # Source: CLDR 47 by Babel.
    assert Speaker(Voice(tag)).value(date(2026, 3, 2)) == said


@pytest.mark.parametrize(
    ("at", "said"),
    [
        (time(7), "saa 1 asubuhi (07:00)"),
        (time(6), "saa 12 asubuhi (06:00)"),
        (time(12, 30), "saa 6:30 mchana (12:30)"),
        (time(18), "saa 12 jioni (18:00)"),
        (time(21), "saa 3 usiku (21:00)"),
    ],
)
def test_swahili_hours_count_from_dawn_and_show_the_clock(at: time, said: str) -> None:
    assert Speaker(Voice("sw")).value(at) == said
    assert Speaker(Voice("sw"), short=True).value(at) == f"{at:%H:%M}"


@pytest.mark.parametrize("tag", [tag for tag in SEVEN if tag != "sw"])
def test_hours_are_of_24_elsewhere(tag: str) -> None:
    assert Speaker(Voice(tag)).value(time(18, 30)) == "18:30"


def test_devanagari_digits_come_only_where_they_are_asked_for() -> None:
    assert Speaker(Voice("hi")).value(litres("16.5")) == "16.5 लीटर"
    assert Speaker(Voice("hi", digits="native")).value(litres("16.5")) == "१६.५ लीटर"
    assert Speaker(Voice("sw", digits="native")).value(litres("16.5")) == "lita 16.5"


@pytest.mark.parametrize("tag", ["hi-Latn", "sw", "en"])
def test_languages_in_plain_letters_cost_one_segment_and_no_accent(tag: str) -> None:
    said = {form for entry in load(tag).entries for form in entry.forms}
    assert all(form.isascii() for form in said), [form for form in said if not form.isascii()]


@pytest.mark.parametrize("tag", [tag for tag in SEVEN if tag != ENGLISH])
def test_the_back_check_lays_every_caution_and_its_reason_beside_what_it_must_say(tag: str) -> None:
    page = back_check(tag)
    english = load(ENGLISH)
    wanted = [
        key for key in english.messages if is_caution(key, english) and not key.endswith(".short")
    ]
    assert {"caution.never_seal", "why.never_seal", "look.bad", "seed.then-shade"} <= set(wanted)
    for key in wanted:
        assert f"[ ] {key}\n    must say: " in page, key


@pytest.mark.parametrize("tag", SEVEN)
def test_a_reply_is_worded_in_the_readers_language_alone(tag: str) -> None:
    said = say([HourSet(time(6))], Voice(tag), Manner())
    assert said.fell_back == ()


def test_every_caution_has_a_plain_statement_of_what_it_must_say_of_its_own() -> None:
    english = load(ENGLISH)
    said = [
        entry.about
        for entry in english.entries
        if is_caution(entry.key, english)
        and entry.key not in {"caution.one", "caution.why"}
        and not entry.key.endswith(".short")
    ]
    assert len(said) == len(set(said)) > 50
