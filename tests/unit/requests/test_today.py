"""The tasks of a day are those of that day, not what is only announced on it."""

from datetime import UTC, datetime
from pathlib import Path

from tests.conversations.chat_file import stage

START = datetime(2026, 3, 2, 9, tzinfo=UTC)


def test_a_round_stands_on_its_own_day_only(tmp_path: Path) -> None:
    with stage(tmp_path, {}, START) as here:
        here.turn("spraying tomato from 5 march every 10 days 4 times, 2 tanks of 16 l")
        here.turn("@ 2026-03-04 12:00")
        assert here.turn("today") == ["Today Wed 4 Mar: nothing is due."]
        assert here.turn("what is due tomorrow") == ["Tomorrow Thu 5 Mar: round for tomato."]
