from __future__ import annotations

import threading
from collections.abc import Iterator
from typing import Any

import pytest

from bot.channels import telegram
from bot.clock import system_now
from bot.messages import Became, Outcome, Outgoing
from tests.contract.seam import until
from tests.live.peers.sqlite_door import SqliteDoor
from tests.live.peers.telegram_double import TOKEN, Double

PNG = b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 40


@pytest.fixture
def channel(double: Double, door: SqliteDoor) -> Iterator[telegram.Telegram]:
    options = telegram.SETTINGS(TOKEN, api=double.api)
    channel = telegram.open_channel(options, door, system_now)
    yield channel
    channel.close()


def note(text: str = "Stir B1", address: str = "7", **more: Any) -> Outgoing:
    return Outgoing("k", address, text, **more)


def test_words_go_as_they_are_without_mark_up_or_previews(
    double: Double, channel: telegram.Telegram
) -> None:
    text = "Per tank: 4 L *culture* + 12 L <water> https://example.org/_a_"
    outcome = channel.send(note(text))
    assert outcome == Outcome(Became.SENT, outside_id="1")
    (sent,) = double.sent
    assert (sent.text, sent.silent, sent.buttons) == (text, False, ())
    assert "parse_mode" not in sent.parameters
    assert "reply_markup" not in sent.parameters
    assert sent.parameters["link_preview_options"] == {"is_disabled": True}


def test_buttons_become_keys_that_send_their_text_and_go_away(
    double: Double, channel: telegram.Telegram
) -> None:
    channel.send(note("Look at B3", buttons=("ready", "not yet", "bad"), silent=True))
    (sent,) = double.sent
    assert sent.buttons == (("ready", "not yet", "bad"),)
    assert sent.silent
    assert sent.parameters["reply_markup"]["one_time_keyboard"] is True
    assert sent.parameters["reply_markup"]["resize_keyboard"] is True


def test_a_picture_goes_with_its_words_under_it(double: Double, channel: telegram.Telegram) -> None:
    outcome = channel.send(note("Your barrel's card", picture=PNG, buttons=("more",), silent=True))
    assert outcome.became is Became.SENT
    (sent,) = double.sent
    assert (sent.method, sent.text, sent.silent) == ("sendPhoto", "Your barrel's card", True)
    assert list(sent.files.values()) == [PNG]
    assert sent.buttons == (("more",),)


def test_words_too_long_for_a_caption_go_first_and_whole(
    double: Double, channel: telegram.Telegram
) -> None:
    outcome = channel.send(note("x" * 1025, picture=PNG, buttons=("more",)))
    assert outcome.became is Became.SENT
    assert [(one.method, len(one.text)) for one in double.sent] == [
        ("sendMessage", 1025),
        ("sendPhoto", 0),
    ]
    assert double.sent[0].buttons == (("more",),)


def test_a_picture_that_fails_after_its_words_takes_nothing_back(
    double: Double, channel: telegram.Telegram
) -> None:
    double.meets("sendPhoto", code=400, description="Bad Request: IMAGE_PROCESS_FAILED")
    assert channel.send(note("x" * 1025, picture=PNG)).became is Became.SENT
    assert [one.method for one in double.sent] == ["sendMessage"]


@pytest.mark.parametrize(
    ("length", "became"), [(4096, Became.SENT), (4097, Became.REFUSED), (0, Became.REFUSED)]
)
def test_a_message_has_1_to_4096_characters(
    double: Double, channel: telegram.Telegram, length: int, became: Became
) -> None:
    outcome = channel.send(note("क" * length))
    assert outcome.became is became
    assert not outcome.dead_address
    assert len(double.sent) == (became is Became.SENT)


BLOCKED = "Forbidden: bot was blocked by the user"
UPGRADED = "Bad Request: group chat was upgraded to a supergroup chat"


@pytest.mark.parametrize(
    ("fault", "expected"),
    [
        (
            {"code": 429, "description": "Too Many Requests", "parameters": {"retry_after": 7}},
            Outcome(Became.LATER, "429: Too Many Requests", retry_after_s=7.0),
        ),
        (
            {"code": 403, "description": BLOCKED},
            Outcome(Became.REFUSED, BLOCKED, dead_address=True),
        ),
        (
            {"code": 400, "description": UPGRADED, "parameters": {"migrate_to_chat_id": -100200}},
            Outcome(
                Became.LATER,
                "the group has a new address",
                retry_after_s=0.0,
                new_address="-100200",
            ),
        ),
        (
            {"code": 500, "description": "Internal Server Error"},
            Outcome(Became.UNKNOWN, "500: Internal Server Error"),
        ),
        (
            {"code": 403, "body": b"<html>blocked by your provider</html>"},
            Outcome(Became.LATER, "403: HTTP 403, not from Telegram", whole_channel=True),
        ),
        (
            {"code": 401, "description": "Unauthorized"},
            Outcome(
                Became.LATER, "Telegram refused the token", retry_after_s=60.0, whole_channel=True
            ),
        ),
        ({"drop": True}, Outcome(Became.UNKNOWN, "no answer: RemoteProtocolError")),
        (
            {"code": 200, "body": b"<html>"},
            Outcome(Became.UNKNOWN, "no answer: TelegramError"),
        ),
        (
            {"code": 200, "body": b'{"ok":true,"result":{"message_id":5}}', "taken": True},
            Outcome(Became.UNKNOWN, "no answer: KeyError"),
        ),
    ],
    ids=["429", "403", "migrated", "500", "proxy", "401", "dropped", "no json", "odd yes"],
)
def test_what_the_network_does_is_what_the_outcome_says(
    double: Double, channel: telegram.Telegram, fault: dict[str, Any], expected: Outcome
) -> None:
    double.meets("sendMessage", **fault)
    assert channel.send(note()) == expected


def test_a_chat_that_is_not_there_is_a_dead_address(
    double: Double, channel: telegram.Telegram
) -> None:
    double.unknown.add("7")
    outcome = channel.send(note())
    assert (outcome.became, outcome.dead_address) == (Became.REFUSED, True)


def test_dropped_after_it_was_taken_is_unknown_and_it_did_arrive(
    double: Double, channel: telegram.Telegram
) -> None:
    double.meets("sendMessage", drop=True, taken=True)
    assert channel.send(note()).became is Became.UNKNOWN
    assert len(double.sent) == 1


def test_an_answer_that_comes_too_late_is_unknown(
    double: Double, channel: telegram.Telegram, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bot.channels.telegram.sending.LONGEST_WAIT_S", 0.1)
    double.meets("sendMessage", late_s=0.5, taken=True)
    assert channel.send(note()) == Outcome(Became.UNKNOWN, "no answer: TimeoutError")


def test_nobody_listening_is_later_for_the_whole_channel(door: SqliteDoor, free_port: int) -> None:
    options = telegram.SETTINGS(TOKEN, api=f"http://127.0.0.1:{free_port}")
    channel = telegram.open_channel(options, door, system_now)
    try:
        outcome = channel.send(note())
    finally:
        channel.close()
    assert outcome == Outcome(Became.LATER, "not reached: ConnectError", whole_channel=True)


def test_a_wait_for_one_chat_is_its_own_and_a_second_chats_is_everybodys(
    double: Double, channel: telegram.Telegram
) -> None:
    wait = {"code": 429, "description": "Too Many Requests", "parameters": {"retry_after": 9}}
    for _ in range(3):
        double.meets("sendMessage", **wait)
    assert not channel.send(note(address="7")).whole_channel
    assert not channel.send(note(address="7")).whole_channel
    assert channel.send(note(address="8")).whole_channel
    assert channel.send(note(address="9")).became is Became.SENT


def test_a_send_under_way_when_closing_comes_home(
    double: Double, channel: telegram.Telegram
) -> None:
    double.meets("sendMessage", late_s=0.15, taken=True)
    got: list[Outcome] = []
    sending = threading.Thread(target=lambda: got.append(channel.send(note())))
    sending.start()
    assert until(lambda: len(double.sent) == 1)
    channel.close()
    sending.join()
    assert got[0].became is Became.SENT


def test_a_send_that_never_comes_home_does_not_keep_the_door_open(
    double: Double, channel: telegram.Telegram
) -> None:
    double.meets("sendMessage", late_s=3.0, taken=True)
    got: list[Outcome] = []
    sending = threading.Thread(target=lambda: got.append(channel.send(note())))
    sending.start()
    assert until(lambda: len(double.sent) == 1)
    channel.close()
    sending.join()
    assert got == [Outcome(Became.UNKNOWN, "the channel was closed while sending")]
