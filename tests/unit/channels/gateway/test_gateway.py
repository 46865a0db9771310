"""The gateway's channel: what it takes from Kannel, and what it makes of Kannel's answers."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from urllib.parse import parse_qs, urlencode, urlsplit

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.channels import gateway
from bot.channels.gateway.receiving import key_read, key_written
from bot.messages import Became, Outgoing
from bot.settings import SettingsError
from tests.live.peers.http_peer import Answer, HttpPeer, call
from tests.live.peers.sqlite_door import SqliteDoor

NOW = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
ASHA = "+919876543210"
SECRET = "s3cret-s3cret-s3cret"


@pytest.fixture
def door(tmp_path: Path) -> Iterator[SqliteDoor]:
    door = SqliteDoor(tmp_path / "door.sqlite")
    yield door
    door.close()


@pytest.fixture
def kannel() -> Iterator[HttpPeer]:
    peer = HttpPeer(lambda _: Answer(202, "0: Accepted for delivery"))
    yield peer
    peer.close()


@pytest.fixture
def channel(kannel: HttpPeer, door: SqliteDoor) -> Iterator[gateway.Gateway]:
    options = gateway.SETTINGS(
        "pw",
        SECRET,
        send_url=f"{kannel.url}/cgi-bin/sendsms",
        listen="127.0.0.1:0",
        called="http://bot.example",
        country="IN",
        sender="55555",
        timeout_s=2.0,
    )
    channel = gateway.open_channel(options, door, lambda: NOW)
    yield channel
    channel.close()


def comes(channel: gateway.Gateway, path: str = "/in", /, **given: str | bytes) -> int:
    named: dict[str, str | bytes] = {
        "secret": SECRET,
        "from": ASHA,
        "text": "done",
        "coding": "0",
        "charset": "UTF-8",
        "id": "id-1",
        "at": "1772434800",
        **given,
    }
    return call(f"http://127.0.0.1:{channel.port}{path}?{urlencode(named)}")


def note(text: str = "stir", *, valid_until: datetime | None = None) -> Outgoing:
    return Outgoing("rule:7:2026-03-02/ä%", ASHA, text, valid_until=valid_until)


def test_a_message_is_kept_with_its_moment_and_its_sender(
    channel: gateway.Gateway, door: SqliteDoor
) -> None:
    assert comes(channel, **{"from": "098765 43210"}) == 200
    [came] = door.arrived
    assert (came.address, came.text, came.fault) == (ASHA, "done", "")
    assert came.sent_at == datetime(2026, 3, 2, 7, 0, tzinfo=UTC)


@pytest.mark.parametrize("at", ["", "soon", "9" * 30, "1900000000"])
def test_a_moment_that_is_none_or_not_yet_counts_as_now(
    channel: gateway.Gateway, door: SqliteDoor, at: str
) -> None:
    assert comes(channel, at=at) == 200
    assert door.arrived[0].sent_at == NOW


@pytest.mark.parametrize("secret", ["", "wrong", SECRET[:-1]])
@pytest.mark.parametrize("path", ["/in", "/report"])
def test_a_wrong_secret_is_turned_away_and_nothing_kept(
    channel: gateway.Gateway, door: SqliteDoor, secret: str, path: str
) -> None:
    assert comes(channel, path, secret=secret, key=key_written("k"), type="1") == 403
    assert door.tried == 0
    assert door.rows("select * from receipts") == []


@pytest.mark.parametrize(
    ("text", "charset"),
    [
        ("तैयार 🌱".encode("utf-16-be"), "UTF-16BE"),
        ("तैयार 🌱".encode("utf-16-be"), "UCS-2"),
        ("तैयार 🌱".encode(), "UTF-8"),
        ("तैयार 🌱".encode(), ""),
        ("तैयार 🌱".encode(), "no-such-charset"),
    ],
)
def test_octets_are_read_in_the_charset_they_came_in(
    channel: gateway.Gateway, door: SqliteDoor, text: bytes, charset: str
) -> None:
    assert comes(channel, text=text, charset=charset) == 200
    assert door.texts() == ["तैयार 🌱"]


@pytest.mark.parametrize(
    ("given_", "fault"),
    [
        ({"udh": bytes.fromhex("03250106")}, "shift_table"),
        ({"coding": "1"}, "binary"),
        ({"udh": bytes.fromhex("0605040B8423F0")}, "binary"),
        ({"udh": bytes.fromhex("0500034A0201")}, "part_missing"),
    ],
)
def test_what_cannot_be_read_says_why(
    channel: gateway.Gateway, door: SqliteDoor, given_: dict[str, str | bytes], fault: str
) -> None:
    assert comes(channel, **given_) == 200
    assert [(one.text, one.fault) for one in door.arrived] == [("", fault)]
    assert "646f6e65" in door.arrived[0].raw


def test_the_parts_left_over_of_one_message_ask_once(
    channel: gateway.Gateway, door: SqliteDoor
) -> None:
    comes(channel, id="a", udh=bytes.fromhex("0500034A0301"))
    comes(channel, id="b", udh=bytes.fromhex("0500034A0303"))
    assert len(door.arrived) == 1


def test_a_call_without_an_id_is_known_by_its_content(
    channel: gateway.Gateway, door: SqliteDoor
) -> None:
    comes(channel, id="")
    comes(channel, id="")
    comes(channel, id="", text="ready")
    assert door.texts() == ["done", "ready"]


def test_kannel_may_call_with_many_connections_at_once(channel: gateway.Gateway) -> None:
    # A burst opens one for each message; one that is turned away waits for http-queue-delay.
    others = [socket.create_connection(("127.0.0.1", channel.port), timeout=5) for _ in range(150)]
    assert comes(channel) == 200
    for other in others:
        other.close()


@pytest.mark.parametrize("sender", ["AIRTEL", "55555", "", "+449098790000"])
def test_who_cannot_be_answered_is_set_aside(
    channel: gateway.Gateway, door: SqliteDoor, sender: str
) -> None:
    assert comes(channel, **{"from": sender}) == 200
    assert door.tried == 0


def test_a_send_says_its_coding_its_sender_and_where_reports_go(
    channel: gateway.Gateway, kannel: HttpPeer
) -> None:
    outcome = channel.send(note("तैयार", valid_until=NOW + timedelta(minutes=90)))
    assert (outcome.became, outcome.outside_id) == (Became.SENT, "rule:7:2026-03-02/ä%")
    [asked] = kannel.asked
    assert asked.target == "/cgi-bin/sendsms"
    assert asked.body.decode() == "तैयार"
    assert asked.headers["x-kannel-coding"] == "2"
    assert asked.headers["content-type"] == "text/plain; charset=UTF-8"
    assert asked.headers["x-kannel-to"] == ASHA
    assert asked.headers["x-kannel-from"] == "55555"
    assert asked.headers["x-kannel-validity"] == "90"
    assert asked.headers["x-kannel-dlr-mask"] == "19"
    report = urlsplit(asked.headers["x-kannel-dlr-url"])
    assert report.netloc == "bot.example"
    # Every % but the two that Kannel is to fill in would be read by it as another.
    assert report.query.count("%") == 2
    assert key_read(parse_qs(report.query)["key"][0]) == "rule:7:2026-03-02/ä%"


def test_the_default_alphabet_goes_as_such(channel: gateway.Gateway, kannel: HttpPeer) -> None:
    channel.send(note("3 € [x]"))
    assert kannel.asked[0].headers["x-kannel-coding"] == "0"
    assert "x-kannel-validity" not in kannel.asked[0].headers


@pytest.mark.parametrize(
    ("answer", "became", "whole_channel"),
    [
        (Answer(202, "0: Accepted for delivery"), Became.SENT, False),
        (Answer(202, "3: Queued for later delivery"), Became.SENT, False),
        (Answer(400, "Sender missing and no global set, rejected"), Became.REFUSED, False),
        (Answer(403, "Authorization failed for sendsms"), Became.LATER, True),
        (Answer(404, "Not found"), Became.LATER, True),
        (Answer(503, "Temporal failure, try again later."), Became.LATER, True),
        (Answer(500, "?"), Became.UNKNOWN, False),
        (Answer(drop=True), Became.UNKNOWN, False),
    ],
)
def test_what_kannel_answers_is_what_became_of_it(
    channel: gateway.Gateway,
    kannel: HttpPeer,
    answer: Answer,
    became: Became,
    *,
    whole_channel: bool,
) -> None:
    kannel.answers = lambda _: answer
    outcome = channel.send(note())
    assert outcome.became is became
    assert outcome.whole_channel is whole_channel
    assert (became is Became.SENT) or outcome.cause
    assert "pw" not in outcome.cause


def test_a_gateway_that_is_down_is_a_later_for_the_whole_channel(
    channel: gateway.Gateway, kannel: HttpPeer
) -> None:
    kannel.close()
    outcome = channel.send(note())
    assert (outcome.became, outcome.whole_channel) == (Became.LATER, True)


@pytest.mark.parametrize(
    ("outgoing", "cause"),
    [
        (Outgoing("k", "AIRTEL", "stir"), "no phone"),
        (Outgoing("k", "+449098790000", "stir"), "premium"),
        (Outgoing("k", ASHA, " \n"), "nothing in"),
        (Outgoing("k", ASHA, "a" * 1000), "takes 7 SMS"),
        (Outgoing("k", ASHA, "stir", valid_until=NOW), "time has passed"),
    ],
)
def test_what_should_never_go_is_refused_before_kannel_hears_of_it(
    channel: gateway.Gateway, kannel: HttpPeer, outgoing: Outgoing, cause: str
) -> None:
    outcome = channel.send(outgoing)
    assert outcome.became is Became.REFUSED
    assert cause in outcome.cause
    assert kannel.asked == []


@pytest.mark.parametrize(
    ("kind", "answer", "kept"),
    [
        ("1", "", [("rule:7", 1, "")]),
        ("2", "id:7 stat:UNDELIV", [("rule:7", 0, "not delivered (id:7 stat:UNDELIV)")]),
        ("16", "", [("rule:7", 0, "the carrier turned it down")]),
        ("8", "", []),
        ("4", "", []),
    ],
)
def test_a_report_is_kept_under_the_messages_key(
    channel: gateway.Gateway,
    door: SqliteDoor,
    kind: str,
    answer: str,
    kept: list[tuple[object, ...]],
) -> None:
    given_ = {"key": key_written("rule:7"), "type": kind, "answer": answer}
    assert comes(channel, "/report", **given_) == 200
    assert door.rows("select * from receipts") == kept


@pytest.mark.parametrize("key", ["!", "aaaaa", "_w"])
def test_a_report_of_no_key_is_a_bad_request(channel: gateway.Gateway, key: str) -> None:
    assert comes(channel, "/report", key=key, type="1") == 400


@given(st.text())
def test_any_key_survives_kannels_reading(key: str) -> None:
    clean = key.encode("utf-8", "replace").decode()
    assert key_read(key_written(clean)) == clean
    assert "%" not in key_written(clean)


def test_reports_are_not_asked_for_where_they_cost(door: SqliteDoor, kannel: HttpPeer) -> None:
    options = gateway.SETTINGS(
        "pw", SECRET, send_url=kannel.url, listen="127.0.0.1:0", reports=False
    )
    channel = gateway.open_channel(options, door, lambda: NOW)
    channel.send(note())
    channel.close()
    assert "x-kannel-dlr-url" not in kannel.asked[0].headers
    assert "x-kannel-from" not in kannel.asked[0].headers


@pytest.mark.parametrize(
    ("name", "value", "mend"),
    [
        ("password", "", "PASSWORD is empty"),
        ("sender", "बॉट", "plain letters"),
        ("secret", "short", "16 or more"),
        ("secret", "with spaces in the secret", "letters and digits"),
        ("send_url", "kannel:13013", "begins with http://"),
        ("called", "bot.example", "begins with http://"),
        ("called", "http://bot.example/%d", "Kannel would read the %"),
        ("listen", "8080", "host:port"),
        ("country", "in", "two capital letters"),
        ("most_parts", 300, "between 1 and 255"),
        ("timeout_s", 0.0, "above 0"),
    ],
)
def test_a_wrong_setting_is_one_line_with_the_mend(
    door: SqliteDoor, name: str, value: object, mend: str
) -> None:
    given_ = {"password": "pw", "secret": SECRET, "listen": "127.0.0.1:0", name: value}
    with pytest.raises(SettingsError, match=mend) as fault:
        gateway.open_channel(gateway.SETTINGS(**given_), door, lambda: NOW)  # type: ignore[arg-type]
    assert "\n" not in str(fault.value)
    assert str(fault.value).startswith("STIRBELL_GATEWAY_")
