"""STOP, START and HELP whatever the member's language: whole messages only."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from bot.language.hearing import Hearing
from bot.language.outright import LONGEST, outright, spelled, whole_messages
from bot.language.understand import tongues, understand

AT = datetime(2026, 3, 2, 7, tzinfo=UTC)


def kinds(text: str, language: str) -> list[str]:
    heard = understand(text, tongues(), Hearing(AT, language=language))
    return [each.kind for each in heard.requests]


@pytest.mark.parametrize("language", tongues())
def test_every_word_for_stop_of_a_language_stops_in_it(language: str) -> None:
    for phrase, kind in tongues()[language].outright.items():
        assert outright(" ".join(phrase), tongues(), language) == kind


@pytest.mark.parametrize(
    "typed",
    ["STOP", "Alto", "ARRÊT", "arret", "basta", "parar", "chega", "SIMAMA", "बंद करो", "band karo"],
)
@pytest.mark.parametrize("language", ["", *tongues()])
def test_a_word_for_stop_of_any_language_stops_a_member_of_any_other(
    typed: str, language: str
) -> None:
    assert kinds(typed, language) == ["stop"]


@pytest.mark.parametrize("language", tongues())
def test_start_and_help_of_any_language_are_heard(language: str) -> None:
    assert kinds("reprendre", language) == ["resume"]
    assert kinds("anza", language) == ["resume"]
    assert kinds("ayuda", language) == ["help"]
    assert kinds("मदद", language) == ["help"]


def test_a_word_of_the_members_own_language_keeps_its_own_meaning() -> None:
    assert kinds("continue", "fr") != ["resume"]
    assert outright("band", tongues(), "sw") == ""


def test_a_word_within_a_message_stops_nothing() -> None:
    assert kinds("stop stirring b2", "en") == ["finish"]
    assert outright("please stop by tomorrow", tongues(), "en") == ""
    assert outright("", tongues(), "en") == outright("...", tongues(), "") == ""
    assert outright("stop" + "." * LONGEST, tongues(), "en") == ""


def test_a_template_is_spelled_out() -> None:
    assert spelled("opt [me] out") == {("opt", "me", "out"), ("opt", "out")}


def test_a_line_that_cannot_be_read_is_left_to_the_templates_to_say() -> None:
    assert whole_messages({"stop": {"cues": "= (halt\n= basta"}}) == {("basta",): "stop"}
