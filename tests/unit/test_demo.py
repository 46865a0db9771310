"""The demo group: its script, and the season that stands once it was played."""

from __future__ import annotations

import io
from datetime import UTC, datetime

import pytest

from bot.cli import main
from bot.demo import season


class Deaf:
    """A chat that only keeps what is typed."""

    def __init__(self) -> None:
        self.typed: list[str] = []

    def line(self, line: str) -> None:
        self.typed.append(line)


def test_the_season_begins_weeks_before_the_moment_it_stands_as_of() -> None:
    until = datetime(2026, 4, 20, 6, tzinfo=UTC)
    assert season.begins_at(until, "Africa/Nairobi") == datetime(2026, 3, 11, 5, tzinfo=UTC)


def test_the_newest_invitation_is_typed_where_the_script_needs_it() -> None:
    chat = Deaf()
    said = ["200 L in B1", "They send: join QK7M2", "They send: join W3RCPH"]
    assert season.play(chat, lambda: said) > 50
    assert "@miller join W3RCPH" in chat.typed
    assert not any("{code}" in line or line.startswith("#") for line in chat.typed)
    without = Deaf()
    season.play(without, list)
    assert "@miller join " in without.typed


def test_the_introduction_names_the_group_and_what_to_ask() -> None:
    told = season.introduction()
    assert told.startswith("Green Hollow")
    assert "supply plan" in told
    assert "#" not in told


def walked(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], *typed: str
) -> list[str]:
    monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(typed) + "\n"))
    assert main(["chat", "--demo", "--at", "2026-04-20 09:00", "--zone", "Africa/Nairobi"]) == 0
    return capsys.readouterr().out.splitlines()


@pytest.mark.slow
def test_the_demo_season_is_opened_and_walked_through(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    said = walked(
        monkeypatch,
        capsys,
        "my group",
        "whose turn is it",
        "my barrels",
        "who has sprayed",
        "who drew how much",
        "equipment",
        "calendar",
        "supply plan",
        "@weaver sprayed",
        "b1 smells bad",
        "@ +1d",
    )
    text = "\n".join(said)
    assert said[0].startswith("Green Hollow")
    assert "Your group: green hollow, 4 people." in text
    assert "Stirring: Mon 20 Apr" in text
    assert "B1 200 L mother culture: day" in text
    assert "Sprayed" in text
    assert "B3: Teacher 16 L; 84 L left." in text
    assert "Your sprayer: 8 tanks a day." in text
    assert "Miller's sprayer: 6 tanks a day." in text
    assert "Market: no rounds on any Friday." in text
    assert "@weaver Chilli done today Mon 20 Apr." in text
    assert "B1 is spoilt: planned anew." in text
    assert not any("could not handle" in line for line in said)
