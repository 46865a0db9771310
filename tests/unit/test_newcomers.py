"""What a number's prefix says of somebody new: guessed, said once, mended by a word."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import select

from bot.messages import Manner
from bot.newcomers import guess, likely_language, shorter_letters
from bot.records.people import Member
from bot.records.tables import member
from bot.wording.catalogue import tags
from tests.contract.stores import opened, sqlite_at
from tests.faults.farm import Farm, Net, prepared

NOW = datetime(2026, 3, 2, 6, tzinfo=UTC)
KENYA, INDIA, BRAZIL = "+254712345678", "+919876543210", "+5511961234567"
PLACE = "By your number you are in Kenya, where it is 09:00."


@pytest.fixture
def farm(tmp_path: Path) -> Iterator[Farm]:
    store = opened(sqlite_at(tmp_path))
    farm = Farm(store, Net())
    farm.exchange.rooms = replace(
        prepared(), newcomer=guess, manner=lambda _name: Manner(alphabet="gsm7", pages=3)
    )
    yield farm
    store.close()


def says(farm: Farm, who: str, text: str, now: datetime = NOW) -> str:
    before = len(farm.net.arrived)
    farm.says(who, text, now)
    farm.engine.step(now)
    return "\n".join(each.text for each in farm.net.arrived[before:])


def language(farm: Farm) -> str:
    with farm.store.reading() as tx:
        return str(tx.execute(select(member.c.language)).scalar_one())


def test_country_and_clock_are_said_in_the_first_reply_and_never_again(farm: Farm) -> None:
    assert PLACE in says(farm, KENYA, "leaf spray 3 tanks of 16 l")
    assert "By your number" not in says(farm, KENYA, "my barrels", NOW + timedelta(minutes=1))


def test_a_place_that_the_newcomer_names_is_not_guessed_beside_it(farm: Farm) -> None:
    assert "By your number" not in says(farm, KENYA, "i live in kisumu")


def test_a_language_the_country_does_not_speak_most_is_said_with_how_to_change_it(
    farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bot.newcomers.tags", lambda: ("en", "pt", "sw"))
    said = says(farm, KENYA, "leaf spray 3 tanks of 16 litres")
    assert "I write English. For Swahili send: language Swahili" in said
    assert language(farm) == "en"
    says(farm, KENYA, "language Swahili", NOW + timedelta(minutes=1))
    assert language(farm) == "sw"


def test_words_of_the_countrys_own_language_settle_it_without_asking(
    farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bot.newcomers.tags", lambda: ("en", "pt", "sw"))
    said = says(farm, KENYA, "nimekoroga")
    assert "language" not in said
    assert language(farm) == "sw"


def test_where_the_words_do_not_say_the_language_is_the_countrys(farm: Farm) -> None:
    assert likely_language("BR") == "pt"
    says(farm, BRAZIL, "1:5")
    assert language(farm) == "pt"


def test_a_country_of_several_zones_is_asked_about_once_not_twice(farm: Farm) -> None:
    said = says(farm, "+12025550123", "started 200 l barrel")
    assert said.count("i live in") == 1


def test_a_stop_is_confirmed_and_nothing_is_guessed_beside_it(farm: Farm) -> None:
    assert "By your number" not in says(farm, KENYA, "STOP")


def grower(tag: str) -> Member:
    return Member("m", "", tag, "UTC", NOW.time(), "", {}, "g", None, NOW)


def test_latin_letters_are_offered_where_a_language_has_them_and_sms_is_paid(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("bot.newcomers.tags", lambda: ("en", "hi", "hi-Latn"))
    paid = Manner(alphabet="gsm7")
    assert [each.words for each in shorter_letters(grower("hi"), paid)] == ["newcomer.latin"]
    assert not list(shorter_letters(grower("hi"), Manner()))
    assert not list(shorter_letters(grower("hi-Latn"), paid))
    assert not list(shorter_letters(grower("en"), paid))


@pytest.mark.parametrize("tag", [tag for tag in ("es", "fr", "pt") if tag in tags()])
def test_letters_without_accents_are_offered_where_accents_cost(tag: str) -> None:
    paid = Manner(alphabet="gsm7")
    assert [each.words for each in shorter_letters(grower(tag), paid)] == ["newcomer.plain"]
    assert not list(shorter_letters(replace(grower(tag), settings={"plain": True}), paid))
    assert not list(shorter_letters(grower(tag), Manner()))


@pytest.mark.skipif("hi-Latn" not in tags(), reason="no Latin Hindi can be said yet")
def test_a_hindi_member_is_offered_latin_letters_and_gets_them(farm: Farm) -> None:
    assert "Latn" not in language_after(farm, INDIA, "मेरे ड्रम")
    assert language_after(farm, INDIA, "language hinglish") == "hi-Latn"


def language_after(farm: Farm, who: str, text: str) -> str:
    says(farm, who, text)
    return language(farm)
