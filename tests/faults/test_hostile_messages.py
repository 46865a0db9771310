"""Messages meant to break a reader: none crashes it, none becomes a dose it does not hold."""

from datetime import datetime
from decimal import Decimal

import pytest

from bot.language.folding import CAP_CHARACTERS
from bot.language.lexicon import load, tags
from bot.language.read import read
from bot.language.reading import Reading
from bot.language.tokens import CAP_TOKENS

REF = datetime(2026, 3, 4, 10)  # noqa: DTZ001 - wall time
LEAP = datetime(2024, 2, 29, 23, 59)  # noqa: DTZ001 - wall time

HOSTILE = [
    "",
    " ",
    "1/2 " * 10,
    "monday " * 12,
    "10:30 " * 12,
    "9**9**9",
    "1" * 160,
    "1" * 480,
    "1-" * 240,
    "every " * 100,
    "million " * 200,
    "\0",
    "3\0l",
    "31/02/2025",
    "29/2",
    "29/2/2025",
    "1/0",
    "0/0 l",
    "0:0",
    "1:2:3:4",
    "1e400 l",
    "1E400l",
    "nan l",
    "inf l",
    "∞ l",
    "-5 l",
    "½½",
    "1½½ l",
    "३ ٣ ３ Ⅻ ² ⅐ ㎖ ℃",
    "2\u200b tanks",
    "2\u00a0l",
    "\ufeff2 l",
    "\u202e2 l\u202c",
    "👍 2 l 👨\u200d🌾",
    "me\u0301lange 2 l",
    "ढा\u093c\u093c\u093cई",
    "30 feb",
    "25:00 pm",
    "99:99",
    "year 99999",
    "in 99999 years",
    "999999999 days ago",
    "every 0 days",
    "every 1000000000000 days",
    "+255 712 345 678",
    "https://example.org/1:3?l=200",
    "a@example.org",
    "3 l\n4 l\r\n5 l",
    "x" * 10_000,
    "3 tanks of 16 l " * 700,
    "point " * 90,
    "1.1.1.1." * 60,
    "1 and " * 80,
    "half " * 120,
    "1 part " * 80,
    "a " * 240,
    "/" * 480,
    ":" * 480,
    "1:1:" * 120,
    "\ud800",
    "quatre vingt " * 40,
    "mia moja na " * 40,
    "साढ़े " * 90,
    "zzxqv qwrtp " * 40,
    "2024-" * 90,
    "un quart de " * 40,
    "next " * 100,
    "1 jan 1 " * 60,
]


@pytest.mark.parametrize("tag", tags())
@pytest.mark.parametrize("ref", [REF, LEAP])
def test_no_message_breaks_the_reader(tag: str, ref: datetime) -> None:
    lexicon = load(tag)
    for text in HOSTILE:
        reading = read(text, lexicon, ref)
        assert len(reading.text) <= CAP_CHARACTERS
        assert len(reading.tokens) <= CAP_TOKENS
        assert reading.cut == (len(text) > CAP_CHARACTERS)
        _holds_together(reading)


def _holds_together(reading: Reading) -> None:
    for mention in reading.mentions:
        assert 0 <= mention.start < mention.end <= len(reading.tokens)
    for mention in reading.of("quantity"):
        assert mention.value.value.is_finite()
        assert mention.value.value < Decimal(10) ** 13


@pytest.mark.parametrize("tag", tags())
@pytest.mark.parametrize(
    "text",
    [
        "nan l", "inf l", "∞ l", "-5 l", "1e400 l", "1½½ l", "½½ l", "1/0 l", "9" * 13 + " l",
        "https://example.org/200l", "+255 712 345 678", "0712345678",
    ],
)  # fmt: skip
def test_what_is_no_amount_is_no_dose(tag: str, text: str) -> None:
    assert not read(text, load(tag), REF).of("quantity", "count", "ratio")


@pytest.mark.parametrize("text", ["30 feb", "31/02/2025", "29/2/2025", "2025-02-30", "99.99.2025"])
def test_a_day_that_never_comes_is_no_date(text: str) -> None:
    assert not read(text, load("en"), REF).of("date")


def test_the_leap_day_waits_for_its_year() -> None:
    assert read("29 feb", load("en"), REF).of("date")[0].value.year == 2028


@pytest.mark.parametrize("text", ["in 99999 years", "999999999 days ago", "after 9999 weeks"])
def test_a_date_too_far_away_is_no_date(text: str) -> None:
    assert not read(text, load("en"), REF).of("date")


def test_what_is_past_the_cap_is_not_read() -> None:
    reading = read("x" * CAP_CHARACTERS + " 3 tanks", load("en"), REF)
    assert reading.cut
    assert not reading.mentions
