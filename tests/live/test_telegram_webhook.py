from __future__ import annotations

import json
import socket
import threading
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from urllib.error import HTTPError

import pytest

from bot.channels import telegram
from bot.channels.telegram.webhook import CONNECTIONS, Webhook
from bot.clock import system_now
from bot.messages import Became, Incoming, Outgoing
from bot.settings import SettingsError
from tests.contract.seam import until
from tests.live.peers.sqlite_door import SqliteDoor
from tests.live.peers.telegram_double import TOKEN, Double

SECRET = "a-long_secret"


@pytest.fixture
def channel(double: Double, door: SqliteDoor, free_port: int) -> Iterator[telegram.Telegram]:
    options = telegram.SETTINGS(
        TOKEN,
        api=double.api,
        webhook_url=f"http://127.0.0.1:{free_port}/telegram",
        webhook_listen=f"127.0.0.1:{free_port}",
        webhook_secret=SECRET,
    )
    channel = telegram.open_channel(options, door, system_now)
    assert until(lambda: bool(double.hook))
    yield channel
    channel.close()


def body(double: Double, text: str) -> bytes:
    return json.dumps(double.says(text)).encode()


def test_telegram_is_told_where_with_which_secret_and_to_keep_the_order(
    double: Double, channel: telegram.Telegram
) -> None:
    assert double.hook["secret_token"] == SECRET
    assert double.hook["max_connections"] == "1"
    assert double.hook["allowed_updates"] == ["message", "callback_query", "my_chat_member"]
    assert not double.hook.get("drop_pending_updates")
    assert not channel.polled
    assert double.count("getUpdates") == 0


@pytest.mark.usefixtures("channel")
@pytest.mark.parametrize("secret", [None, "", "a-long_secre", "a-long_secret2", "A-LONG_SECRET"])
def test_without_the_right_secret_nothing_is_even_read(
    double: Double, door: SqliteDoor, secret: str | None
) -> None:
    assert double.calls_hook(body(double, "stirred"), secret) == 403
    assert door.tried == 0


@pytest.mark.usefixtures("channel")
def test_yes_is_said_after_the_commit_and_a_second_time_changes_nothing(
    double: Double, door: SqliteDoor
) -> None:
    update = body(double, "stirred")
    assert [double.calls_hook(update, SECRET) for _ in range(2)] == [200, 200]
    assert door.tried == 2
    assert door.texts() == ["stirred"]


@pytest.mark.usefixtures("channel")
def test_any_failure_of_ours_asks_telegram_to_come_again(double: Double, door: SqliteDoor) -> None:
    def away(_: Incoming) -> None:
        raise OSError("disk full")

    update = body(double, "stirred")
    door.refuses = away
    assert double.calls_hook(update, SECRET) == 500
    door.refuses = None
    assert double.calls_hook(update, SECRET) == 200
    assert door.texts() == ["stirred"]


@pytest.mark.usefixtures("channel")
@pytest.mark.parametrize(
    "junk", [b"", b"no json", b"[]", b"{}", b'{"update_id": 1, "message": 3}', b"\xff"]
)
def test_what_cannot_be_read_is_set_aside_with_a_yes(
    double: Double, door: SqliteDoor, junk: bytes
) -> None:
    assert double.calls_hook(junk, SECRET) == 200
    (row,) = door.rows("select text, fault != '' from inbox")
    assert row == ("", 1)


@pytest.mark.parametrize("length", [str((1 << 20) + 1), "-1", "many"])
@pytest.mark.usefixtures("channel")
def test_a_body_of_no_honest_length_is_not_read(
    double: Double, door: SqliteDoor, length: str
) -> None:
    port = int(double.hook["url"].split(":")[2].split("/")[0])
    head = f"POST / HTTP/1.1\r\nX-Telegram-Bot-Api-Secret-Token: {SECRET}\r\n"
    with socket.create_connection(("127.0.0.1", port), timeout=5) as caller:
        caller.sendall(f"{head}Content-Length: {length}\r\n\r\n".encode())
        answer = caller.makefile("rb").read()
    assert answer.startswith(b"HTTP/1.1 413 ")
    assert door.tried == 0


@pytest.mark.usefixtures("channel")
def test_a_press_is_answered(double: Double, door: SqliteDoor) -> None:
    assert double.calls_hook(json.dumps(double.presses("ready")).encode(), SECRET) == 200
    assert until(lambda: len(double.answered) == 1)
    assert door.texts() == ["ready"]


@pytest.mark.usefixtures("channel")
def test_a_looker_on_finds_nothing(double: Double) -> None:
    with pytest.raises(HTTPError) as refusal:
        urllib.request.urlopen(double.hook["url"], timeout=5)  # noqa: S310 - loopback
    assert refusal.value.code == 404
    refusal.value.close()


def test_sending_goes_on_while_it_listens(double: Double, channel: telegram.Telegram) -> None:
    assert channel.send(Outgoing("k", "7", "Stir B1")).became is Became.SENT
    assert [one.text for one in double.sent] == ["Stir B1"]


def test_after_closing_telegram_finds_nobody_and_keeps_what_it_has(
    double: Double, door: SqliteDoor, channel: telegram.Telegram
) -> None:
    channel.close()
    with pytest.raises(OSError, match=r"refused|reset"):
        double.calls_hook(body(double, "stirred"), SECRET)
    assert door.texts() == []
    assert double.hook, "the webhook stays set, so Telegram keeps trying"


def test_until_it_knows_where_to_put_updates_it_asks_to_come_again(double: Double) -> None:
    hook = Webhook("127.0.0.1:0", SECRET)
    url = f"http://127.0.0.1:{hook.port}/"
    try:
        assert double.calls_hook(b"{}", SECRET, url) == 500
    finally:
        hook.close()


def test_strangers_cannot_take_every_thread() -> None:
    hook = Webhook("127.0.0.1:0", SECRET)
    before = threading.active_count()
    idle = [socket.create_connection(("127.0.0.1", hook.port)) for _ in range(CONNECTIONS + 8)]
    try:
        assert until(lambda: threading.active_count() >= before + CONNECTIONS)
        assert idle[-1].recv(1) == b""
        assert threading.active_count() <= before + CONNECTIONS
    finally:
        for connection in idle:
            connection.close()
        hook.close()


def test_a_port_that_is_taken_is_one_line(door: SqliteDoor) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        listen = f"127.0.0.1:{taken.getsockname()[1]}"
        options = telegram.SETTINGS(
            TOKEN,
            api="http://127.0.0.1:9",
            webhook_url="http://127.0.0.1/",
            webhook_listen=listen,
            webhook_secret=SECRET,
        )
        with pytest.raises(SettingsError, match=f"STIRBELL_TELEGRAM_WEBHOOK_LISTEN.*{listen}"):
            telegram.open_channel(options, door, system_now)


@pytest.mark.skipif(not Path("/proc/net/if_inet6").exists(), reason="this machine has no IPv6")
def test_it_listens_at_an_ipv6_address_too(double: Double) -> None:
    hook = Webhook("[::1]:0", SECRET)
    try:
        assert double.calls_hook(b"{}", SECRET, f"http://[::1]:{hook.port}/") == 500
    finally:
        hook.close()


@pytest.mark.usefixtures("channel")
def test_two_messages_the_inbox_refuses_in_turn_are_both_set_aside_at_last(
    double: Double, door: SqliteDoor
) -> None:
    def spoilt(incoming: Incoming) -> None:
        if incoming.text:
            raise ValueError("never")

    door.refuses = spoilt
    both = [body(double, "one"), body(double, "two")]
    codes = [[double.calls_hook(update, SECRET) for update in both] for _ in range(3)]
    assert codes == [[500, 500], [500, 500], [200, 200]]
    assert len(door.rows("select * from inbox where fault != ''")) == 2
