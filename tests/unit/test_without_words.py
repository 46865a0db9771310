"""What comes in without words, or late: a place, a missed call, a message from yesterday."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from bot.messages import Incoming
from tests.conversations.chat_file import Stage, stage

START = datetime(2026, 3, 2, 9, tzinfo=UTC)


def _comes(here: Stage, incoming: Incoming) -> list[str]:
    here.said.clear()
    here.house.door.accept(incoming)
    here.house.engine.step(here.chat.clock.now())
    return list(here.said)


def test_a_shared_place_sets_the_clock(tmp_path: Path) -> None:
    with stage(tmp_path, {}, START) as here:
        here.turn("hello")
        said = _comes(
            here, Incoming("terminal", "p1", "you", "", here.chat.clock.now(), place=(-0.1, 34.75))
        )
        started = here.turn("started 20 l barrel")
        here.said.clear()
        here.chat.line("@ +1d")
    assert said[0].startswith("Kisumu: it is 12:00 there now.")
    assert started[0].startswith("B1: 20 L")
    # 07:00 in Kisumu is 04:00 by this terminal's own clock.
    assert here.said == ["[Tue 03 Mar 04:00] Stir B1 today."]


def test_a_missed_call_means_done_to_what_was_asked_last(tmp_path: Path) -> None:
    with stage(tmp_path, {}, START) as here:
        here.turn("started 20 l barrel")
        here.turn("@ +1d")
        call = Incoming("terminal", "c1", "you", "", here.chat.clock.now(), missed_call=True)
        assert _comes(here, call) == ["Noted: B1 stirred today Tue 3 Mar."]


def test_a_missed_call_with_nothing_asked_means_nothing(tmp_path: Path) -> None:
    with stage(tmp_path, {}, START) as here:
        here.turn("hello")
        call = Incoming("terminal", "c1", "you", "", here.chat.clock.now(), missed_call=True)
        assert _comes(here, call) == []


def test_relative_words_count_from_when_the_message_was_sent(tmp_path: Path) -> None:
    with stage(tmp_path, {}, START) as here:
        sent_at = here.chat.clock.now() - timedelta(days=1)
        late = Incoming("terminal", "l1", "you", "started 20 l barrel yesterday", sent_at)
        said = _comes(here, late)
    assert said[0].startswith("B1: 20 L mother culture, started Sat 28 Feb")


def test_the_same_outside_id_is_handled_once(tmp_path: Path) -> None:
    with stage(tmp_path, {}, START) as here:
        once = Incoming("terminal", "d1", "you", "started 20 l barrel", here.chat.clock.now())
        assert _comes(here, once)
        assert _comes(here, once) == []
