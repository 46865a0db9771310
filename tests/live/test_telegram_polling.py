from __future__ import annotations

import logging
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from bot.channels import telegram
from bot.clock import system_now
from bot.messages import Became, Incoming, Outgoing
from bot.settings import SettingsError
from tests.contract.seam import until
from tests.live.peers.sqlite_door import SqliteDoor
from tests.live.peers.telegram_double import TOKEN, Double

GROUP = {"id": -100200, "type": "supergroup", "title": "North terraces"}


@contextmanager
def listening(double: Double, door: SqliteDoor, **more: Any) -> Iterator[telegram.Telegram]:
    options = telegram.SETTINGS(**{"token": TOKEN, "api": double.api, **more})
    channel = telegram.open_channel(options, door, system_now)
    try:
        yield channel
    finally:
        channel.close()


def test_what_waited_while_the_bot_was_away_is_all_heard_in_order(
    double: Double, door: SqliteDoor
) -> None:
    said = [f"used {litres} l" for litres in range(250)]
    for text in said:
        double.says(text)
    with listening(double, door):
        assert until(lambda: double.waiting() == 0)
    assert door.texts() == said


def test_one_unreadable_update_is_set_aside_and_the_rest_goes_on(
    double: Double, door: SqliteDoor
) -> None:
    double.says("stirred")
    double.push({"message": {"chat": {"id": 7}, "date": "yesterday"}})
    double.push({"message": "not even a message"})
    double.says("ready")
    with listening(double, door):
        assert until(lambda: double.waiting() == 0)
    rows = door.rows("select address, text, fault != '' from inbox order by id")
    assert rows == [("7", "stirred", 0), ("7", "", 1), ("", "", 1), ("7", "ready", 0)]


def test_updates_without_numbers_do_not_make_it_spin(double: Double, door: SqliteDoor) -> None:
    double.push_unnumbered({"message": {}})
    with listening(double, door):
        assert until(lambda: len(door.texts()) == 1)
        double.says("stirred")
        assert until(lambda: "stirred" in door.texts())
    assert double.count("getUpdates") < 6


def test_a_message_the_inbox_refuses_for_good_is_kept_without_its_words(
    double: Double, door: SqliteDoor, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bot.channels.telegram.polling.WAITS_S", (0.01,))

    def one_text_only(incoming: Incoming) -> None:
        if incoming.text == "spoilt":
            raise ValueError("this one never")

    door.refuses = one_text_only
    for text in ("stirred", "spoilt", "ready"):
        double.says(text)
    with listening(double, door):
        assert until(lambda: double.waiting() == 0)
    rows = door.rows("select text, fault from inbox order by id")
    assert rows == [
        ("stirred", ""),
        ("", "the inbox refused it: ValueError"),
        ("ready", ""),
    ]


def test_an_inbox_that_is_away_for_a_while_costs_no_message(
    double: Double, door: SqliteDoor, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bot.channels.telegram.polling.WAITS_S", (0.01,))

    def away(_: Incoming) -> None:
        raise OSError("disk full")

    door.refuses = away
    double.says("stirred")
    double.says("ready")
    with listening(double, door):
        assert until(lambda: door.tried > 12)
        assert double.confirmed == 0
        door.refuses = None
        assert until(lambda: double.waiting() == 0)
    assert door.rows("select text, fault from inbox order by id") == [
        ("stirred", ""),
        ("ready", ""),
    ]


def test_numbers_that_begin_anew_lower_are_not_taken_for_old_ones(
    double: Double, door: SqliteDoor
) -> None:
    with listening(double, door, poll_timeout_s=0):
        double.says("stirred")
        assert until(lambda: double.waiting() == 0)
        calls = double.count("getUpdates")
        assert until(lambda: double.count("getUpdates") > calls + 1)
        double.renumber(3)
        double.says("ready")
        assert until(lambda: double.waiting() == 0)
    assert door.texts() == ["stirred", "ready"]


@pytest.mark.parametrize(
    "fault",
    [
        {"code": 409, "description": "Conflict: terminated by other getUpdates request"},
        {"code": 500, "description": "Internal Server Error"},
        {"code": 502, "body": b"<html>Bad Gateway</html>"},
        {"code": 200, "body": b"<html>a hotel's login page</html>"},
        {"code": 200, "body": b'{"ok":true,"result":{}}'},
        {"drop": True},
        {"drop": True, "taken": True},
    ],
    ids=["409", "500", "502", "no json", "no list", "dropped", "dropped after"],
)
def test_after_any_fault_of_the_network_polling_goes_on(
    double: Double, door: SqliteDoor, monkeypatch: pytest.MonkeyPatch, fault: dict[str, Any]
) -> None:
    monkeypatch.setattr("bot.channels.telegram.polling.WAITS_S", (0.01,))
    double.says("stirred")
    double.meets("getUpdates", **fault)
    with listening(double, door):
        assert until(lambda: double.waiting() == 0)
    assert door.texts() == ["stirred"]


def test_a_second_program_on_the_same_token_is_named_in_the_log(
    double: Double,
    door: SqliteDoor,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:
    monkeypatch.setattr("bot.channels.telegram.polling.WAITS_S", (0.01,))
    for _ in range(5):
        double.meets("getUpdates", code=409, description="Conflict: terminated by other")
    with caplog.at_level(logging.INFO), listening(double, door):
        assert until(lambda: double.count("getUpdates") > 6 or double.waiting() == 0)
        double.says("stirred")
        assert until(lambda: double.waiting() == 0)
    lines = [record.getMessage() for record in caplog.records if "409" in record.getMessage()]
    assert len(lines) == 1
    assert "STIRBELL_TELEGRAM_TOKEN" in lines[0]
    assert TOKEN not in caplog.text


def test_a_webhook_set_before_gives_way_to_polling(
    double: Double, door: SqliteDoor, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bot.channels.telegram.polling.WAITS_S", (0.01,))
    double.hook = {"url": "https://elsewhere.example.org"}
    double.says("stirred")
    with listening(double, door):
        assert until(lambda: double.waiting() == 0)
        assert until(lambda: double.count("getUpdates") > 1)
        double.another_sets_a_hook("https://elsewhere.example.org")
        double.says("ready")
        assert until(lambda: "ready" in door.texts())
    assert double.hook == {}
    gone = [given for name, given in double.calls if name == "deleteWebhook"]
    assert all(not given.get("drop_pending_updates") for given in gone)


def test_a_press_is_kept_and_answered_and_a_failing_answer_changes_nothing(
    double: Double, door: SqliteDoor
) -> None:
    double.meets("answerCallbackQuery", code=400, description="Bad Request: query is too old")
    double.presses("ready")
    double.presses("not yet")
    with listening(double, door):
        assert until(lambda: len(double.answered) == 1)
    assert door.texts() == ["ready", "not yet"]


def test_a_moved_group_is_moved_before_it_is_confirmed(double: Double, door: SqliteDoor) -> None:
    old = {"id": -5, "type": "group", "title": "North terraces"}
    double.says(None, chat=old, migrate_to_chat_id=-100200)
    with listening(double, door):
        assert until(lambda: double.waiting() == 0)
    assert door.rows("select * from moves") == [("-5", "-100200")]
    assert door.texts() == []


def test_blocked_and_unblocked_arrive_in_order(double: Double, door: SqliteDoor) -> None:
    double.becomes("kicked", "member")
    double.becomes("member", "kicked")
    with listening(double, door):
        assert until(lambda: double.waiting() == 0)
    assert [got.reachable for got in door.arrived] == [False, True]


def test_a_group_is_heard_only_when_it_speaks_to_the_bot(double: Double, door: SqliteDoor) -> None:
    double.says("see you at the market", chat=GROUP)
    double.says("@stir_bot leaf spray 3 tanks", chat=GROUP)
    with listening(double, door):
        assert until(lambda: double.waiting() == 0)
    assert [(got.address, got.text, got.noticeboard) for got in door.arrived] == [
        ("-100200", "leaf spray 3 tanks", True)
    ]


def test_it_asks_only_for_the_updates_it_can_use(double: Double, door: SqliteDoor) -> None:
    with listening(double, door):
        assert until(lambda: double.count("getUpdates") > 0)
    given = next(given for name, given in double.calls if name == "getUpdates")
    assert given["allowed_updates"] == ["message", "callback_query", "my_chat_member"]
    assert "offset" not in given


def test_closing_in_the_middle_of_a_batch_keeps_order_and_loses_nothing(
    double: Double, door: SqliteDoor
) -> None:
    said = [f"used {litres} l" for litres in range(60)]
    for text in said:
        double.says(text)
    half = threading.Event()
    door.before = lambda: half.set() if len(door.arrived) > 20 else None
    with listening(double, door):
        assert half.wait(5)
    kept = door.texts()
    assert kept == said[: len(kept)]
    with listening(double, door):
        assert until(lambda: double.waiting() == 0)
    assert door.texts() == said


def test_a_refused_token_stops_the_start_with_the_mend(double: Double, door: SqliteDoor) -> None:
    with (
        pytest.raises(SettingsError, match=r"STIRBELL_TELEGRAM_TOKEN.*BotFather") as said,
        listening(double, door, token="42:wrong"),
    ):
        pass
    assert "42:wrong" not in str(said.value)
    assert "\n" not in str(said.value)


def test_without_a_network_it_opens_and_begins_once_there_is_one(
    double: Double, door: SqliteDoor, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bot.channels.telegram.polling.WAITS_S", (0.05,))
    double.meets("getMe", drop=True)
    double.meets("getMe", code=200, body=b'{"ok":true,"result":{}}')
    double.meets("deleteWebhook", drop=True)
    double.says("stirred")
    with listening(double, door):
        assert until(lambda: double.waiting() == 0)
    assert door.texts() == ["stirred"]


def test_commands_are_offered_in_each_language_and_their_failure_stops_nothing(
    double: Double, door: SqliteDoor, tmp_path: Any
) -> None:
    file = tmp_path / "commands.toml"
    file.write_text('[default]\ntoday = "What is due"\n[hi]\ntoday = "आज का काम"\n', "utf-8")
    double.meets("setMyCommands", code=400, description="Bad Request")
    double.says("today")
    with listening(double, door, commands=str(file)):
        assert until(lambda: double.waiting() == 0)
    set_ = [given for name, given in double.calls if name == "setMyCommands"]
    assert [given.get("language_code") for given in set_] == [None, "hi"]
    assert set_[1]["commands"] == [{"command": "today", "description": "आज का काम"}]


def test_sending_works_while_the_long_poll_waits(double: Double, door: SqliteDoor) -> None:
    with listening(double, door) as channel:
        assert until(lambda: double.count("getUpdates") > 0)
        outcome = channel.send(Outgoing("k", "7", "Stir B1"))
    assert outcome.became is Became.SENT
    assert double.count("getUpdates") == 1
