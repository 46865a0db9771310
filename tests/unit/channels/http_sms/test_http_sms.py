"""A hosted SMS service by settings alone: what goes out, what comes in, who may call."""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
import logging
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlencode, urlsplit

import pytest

from bot.channels import http_sms
from bot.messages import Became, Outgoing
from bot.settings import SettingsError, read
from tests.live.peers.http_peer import Answer, HttpPeer, call
from tests.live.peers.sqlite_door import SqliteDoor

NOW = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
ASHA = "+919876543210"
SECRET = "s3cret-s3cret-s3cret"

Open = Callable[..., http_sms.HttpSms]


@pytest.fixture
def door(tmp_path: Path) -> Iterator[SqliteDoor]:
    door = SqliteDoor(tmp_path / "door.sqlite")
    yield door
    door.close()


@pytest.fixture
def service() -> Iterator[HttpPeer]:
    peer = HttpPeer()
    yield peer
    peer.close()


@pytest.fixture
def opened(service: HttpPeer, door: SqliteDoor) -> Iterator[Open]:
    """Opens the channel as an operator does: by variables of the environment, all text."""
    channels: list[http_sms.HttpSms] = []

    def open_one(**given: str) -> http_sms.HttpSms:
        named = {"send_url": service.url + "/send", "timeout_s": "2", **given}
        environ = {f"STIRBELL_HTTP_SMS_{name.upper()}": value for name, value in named.items()}
        options = read(http_sms.SETTINGS, "STIRBELL_HTTP_SMS_", environ)
        channels.append(http_sms.open_channel(options, door, lambda: NOW))
        return channels[-1]

    yield open_one
    for channel in channels:
        channel.close()


def note(text: str = "stir & look", *, valid_until: datetime | None = None) -> Outgoing:
    return Outgoing("k 1", ASHA, text, valid_until=valid_until)


def test_a_form_with_basic_authentication(opened: Open, service: HttpPeer) -> None:
    channel = opened(
        send_fields="To={to}&Body={text}&From={sender}&Ref={key}",
        user="account",
        password="pw",
        sender="STIR",
    )
    outcome = channel.send(note())
    assert (outcome.became, outcome.outside_id) == (Became.SENT, "k 1")
    [asked] = service.asked
    assert (asked.method, asked.target) == ("POST", "/send")
    assert parse_qs(asked.body.decode()) == {
        "To": [ASHA],
        "Body": ["stir & look"],
        "From": ["STIR"],
        "Ref": ["k 1"],
    }
    assert asked.headers["authorization"] == "Basic " + base64.b64encode(b"account:pw").decode()
    assert asked.headers["content-type"] == "application/x-www-form-urlencoded"


def test_a_query_with_bare_numbers(opened: Open, service: HttpPeer) -> None:
    channel = opened(
        send_method="GET", send_as="query", send_fields="msisdn={to_bare}&sms={text}&k={token}",
        token="t&1",
    )  # fmt: skip
    assert channel.send(note("तैयार")).became is Became.SENT
    [asked] = service.asked
    assert asked.method == "GET"
    assert parse_qs(urlsplit(asked.target).query) == {
        "msisdn": ["919876543210"],
        "sms": ["तैयार"],
        "k": ["t&1"],
    }
    assert logging.getLogger("httpx").level == logging.WARNING


def test_json_in_any_depth_with_a_token_in_a_header(opened: Open, service: HttpPeer) -> None:
    channel = opened(
        send_url=service.url + "/accounts/{token}/messages",
        send_as="json",
        send_fields="messages.0.to={to}&messages.0.text={text}&messages.0.ttl={valid_minutes}",
        send_headers="X-Token={token}&Content-Type=application/vnd.api+json",
        unicode_fields="messages.0.type={alphabet}",
        token="ä/1",
    )
    channel.send(note("{to} तैयार", valid_until=NOW + timedelta(minutes=90)))
    channel.send(note("ready"))
    first, second = service.asked
    assert first.target == "/accounts/%C3%A4%2F1/messages"
    assert first.headers["x-token"].encode("latin-1").decode() == "ä/1"
    assert first.headers["content-type"] == "application/vnd.api+json"
    assert json.loads(first.body) == {
        "messages": [{"to": ASHA, "text": "{to} तैयार", "ttl": "90", "type": "ucs2"}]
    }
    assert json.loads(second.body) == {"messages": [{"to": ASHA, "text": "ready"}]}


@pytest.mark.parametrize(
    ("answer", "became", "whole_channel", "retry_after_s"),
    [
        (Answer(200, '{"status": "Queued"}'), Became.SENT, False, None),
        (Answer(200, '{"status": "blocked"}'), Became.REFUSED, False, None),
        (Answer(200, "no json"), Became.REFUSED, False, None),
        (Answer(422), Became.REFUSED, False, None),
        (Answer(401), Became.LATER, True, 300.0),
        (Answer(402), Became.LATER, True, 300.0),
        (Answer(410), Became.LATER, True, 300.0),
        (Answer(302, headers={"Location": "/else"}), Became.LATER, True, 300.0),
        (Answer(429, headers={"Retry-After": "7"}), Became.LATER, True, 7.0),
        (Answer(429, headers={"Retry-After": "999999"}), Became.LATER, True, 3600.0),
        (Answer(503, headers={"Retry-After": "Mon, 2 Mar"}), Became.LATER, True, 60.0),
        (Answer(500), Became.UNKNOWN, False, None),
        (Answer(drop=True), Became.UNKNOWN, False, None),
    ],
)
def test_what_the_service_answers_is_what_became_of_it(
    opened: Open,
    service: HttpPeer,
    answer: Answer,
    became: Became,
    *,
    whole_channel: bool,
    retry_after_s: float | None,
) -> None:
    channel = opened(accepted_answer="status=queued,sent")
    service.answers = lambda _: answer
    outcome = channel.send(note())
    assert outcome.became is became
    assert outcome.whole_channel is whole_channel
    assert outcome.retry_after_s == retry_after_s
    assert became is Became.SENT or outcome.cause


@pytest.mark.parametrize(("body", "became"), [("OK: 17", Became.SENT), ("ERR: 17", Became.REFUSED)])
def test_an_answer_in_plain_words_is_matched_by_a_pattern(
    opened: Open, service: HttpPeer, body: str, became: Became
) -> None:
    service.answers = lambda _: Answer(200, body)
    assert opened(accepted_answer="~^OK").send(note()).became is became


@pytest.mark.parametrize(
    ("body", "outside_id"),
    [('{"messages": [{"id": 17}]}', "17"), ('{"messages": []}', "k 1"), ("?", "k 1")],
)
def test_the_services_own_id_is_kept_where_it_gives_one(
    opened: Open, service: HttpPeer, body: str, outside_id: str
) -> None:
    service.answers = lambda _: Answer(200, body)
    assert opened(answer_id="messages.0.id").send(note()).outside_id == outside_id


def test_a_service_that_cannot_be_reached_is_a_later(opened: Open, service: HttpPeer) -> None:
    channel = opened()
    service.close()
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
def test_what_should_never_go_is_refused_before_it_is_asked_for(
    opened: Open, service: HttpPeer, outgoing: Outgoing, cause: str
) -> None:
    outcome = opened().send(outgoing)
    assert outcome.became is Became.REFUSED
    assert cause in outcome.cause
    assert service.asked == []


def test_a_service_that_only_sends_has_no_listener(opened: Open) -> None:
    assert opened().port == 0


def by_word(**more: str) -> dict[str, str]:
    return {"listen": "127.0.0.1:0", "secret": SECRET, "secret_field": "pass", **more}


def test_a_form_comes_in_and_its_secret_is_not_kept(opened: Open, door: SqliteDoor) -> None:
    channel = opened(
        **by_word(from_field="msisdn", text_field="sms", time_field="at", country="IN")
    )
    given = {"msisdn": "098765 43210", "sms": "आज हिलाया", "id": "7", "at": "1772434800"}
    body = urlencode({**given, "pass": SECRET}).encode()
    assert call(f"http://127.0.0.1:{channel.port}/in", body) == 200
    assert call(f"http://127.0.0.1:{channel.port}/in", body) == 200
    [came] = door.arrived
    assert (came.address, came.text) == (ASHA, "आज हिलाया")
    assert came.sent_at == datetime(2026, 3, 2, 7, 0, tzinfo=UTC)
    assert SECRET not in came.raw


@pytest.mark.parametrize(
    ("stamp", "moment"),
    [
        ("1772434800", datetime(2026, 3, 2, 7, 0, tzinfo=UTC)),
        ("1772434800000", datetime(2026, 3, 2, 7, 0, tzinfo=UTC)),
        ("2026-03-02T12:30:00+05:30", datetime(2026, 3, 2, 7, 0, tzinfo=UTC)),
        ("2026-03-02 07:00:00", datetime(2026, 3, 2, 7, 0, tzinfo=UTC)),
        ("2026-03-02T07:00:00Z", datetime(2026, 3, 2, 7, 0, tzinfo=UTC)),
        ("2030-03-02T07:00:00Z", NOW),
        ("yesterday", NOW),
        ("", NOW),
        ("9" * 40, NOW),
    ],
)
def test_a_moment_is_read_in_each_of_its_usual_forms(
    opened: Open, door: SqliteDoor, stamp: str, moment: datetime
) -> None:
    channel = opened(**by_word(call_as="query", time_field="at"))
    named = urlencode({"from": ASHA, "text": "done", "at": stamp, "pass": SECRET})
    assert call(f"http://127.0.0.1:{channel.port}/in?{named}") == 200
    assert door.arrived[0].sent_at == moment


@pytest.mark.parametrize("secret", ["", "wrong", SECRET.upper()])
def test_a_wrong_word_is_turned_away(opened: Open, door: SqliteDoor, secret: str) -> None:
    channel = opened(**by_word())
    for path in ("in", "report"):
        body = urlencode({"from": ASHA, "text": "x", "pass": secret}).encode()
        assert call(f"http://127.0.0.1:{channel.port}/{path}", body) == 403
    assert door.tried == 0


def test_a_word_in_a_header_lets_in(opened: Open, door: SqliteDoor) -> None:
    channel = opened(listen="127.0.0.1:0", secret=SECRET, secret_header="X-Key")
    url = f"http://127.0.0.1:{channel.port}/in"
    body = urlencode({"from": ASHA, "text": "done"}).encode()
    assert call(url, body, {"X-Key": "no"}) == 403
    assert call(url, body) == 403
    assert call(url, body, {"x-key": SECRET}) == 200
    assert door.texts() == ["done"]


@pytest.mark.parametrize("hash_name", ["sha1", "sha256", "sha512"])
@pytest.mark.parametrize("writing", ["hex", "base64"])
def test_a_signature_over_time_and_body_lets_in_and_nothing_else(
    opened: Open, door: SqliteDoor, hash_name: str, writing: str
) -> None:
    channel = opened(
        listen="127.0.0.1:0",
        secret=SECRET,
        call_as="json",
        signature_header="X-Sign",
        signature_of="{header:X-Time}.{body}",
        signature_hash=hash_name,
        signature_as=writing,
        signature_prefix="v1=",
    )
    url = f"http://127.0.0.1:{channel.port}/in"
    body = json.dumps({"from": ASHA, "text": "done", "id": "1"}).encode()
    digest = hmac.new(SECRET.encode(), b"77." + body, getattr(hashlib, hash_name)).digest()
    signed = digest.hex() if writing == "hex" else base64.b64encode(digest).decode()
    right = {"X-Sign": f"v1={signed}", "X-Time": "77"}
    assert call(url, body, {**right, "X-Time": "78"}) == 403
    assert call(url, body.replace(b"done", b"undo"), right) == 403
    assert call(url, body, {"X-Time": "77"}) == 403
    assert call(url, body, {**right, "X-Sign": "v1=" + signed[:-4]}) == 403
    assert door.tried == 0
    assert call(url, body, right) == 200
    assert door.texts() == ["done"]


def test_a_signature_over_the_address_covers_a_query(opened: Open, door: SqliteDoor) -> None:
    channel = opened(
        listen="127.0.0.1:0",
        called="https://bot.example/",
        secret=SECRET,
        call_as="query",
        signature_header="X-Sign",
        signature_of="{url}",
    )
    target = "/in?" + urlencode({"from": ASHA, "text": "done", "id": "1"})
    signed = hmac.new(
        SECRET.encode(), f"https://bot.example{target}".encode(), hashlib.sha256
    ).hexdigest()
    base = f"http://127.0.0.1:{channel.port}"
    assert call(base + target + "&more=1", headers={"X-Sign": signed}) == 403
    assert call(base + target, headers={"X-Sign": signed.upper()}) == 200
    assert door.texts() == ["done"]


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        ({"id": "x7", "status": "DELIVRD"}, [("x7", 1, "")]),
        ({"id": "x7", "status": "expired"}, [("x7", 0, "not delivered (expired)")]),
        (
            {"id": "x7", "status": "failed", "why": "no credit"},
            [("x7", 0, "not delivered (no credit)")],
        ),
        ({"id": "x7", "status": "queued"}, []),
    ],
)
def test_a_report_is_kept_where_it_is_an_end(
    opened: Open, door: SqliteDoor, given: dict[str, str], kept: list[Any]
) -> None:
    channel = opened(**by_word(report_cause_field="why"))
    body = urlencode({**given, "pass": SECRET}).encode()
    assert call(f"http://127.0.0.1:{channel.port}/report", body) == 200
    assert door.rows("select * from receipts") == kept


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("in", b'{"pass": "%s", "text": "no sender"}'),
        ("report", b'{"pass": "%s", "status": "failed"}'),
        ("in", b'{"pass": "%s"'),
    ],
)
def test_what_is_no_message_and_no_report_is_a_bad_request(
    opened: Open, door: SqliteDoor, path: str, body: bytes
) -> None:
    channel = opened(**by_word(call_as="json"))
    url = f"http://127.0.0.1:{channel.port}/{path}"
    assert call(url, body.replace(b"%s", SECRET.encode())) == 400
    assert door.tried == 0


@pytest.mark.parametrize("body", [b"[]", b"7", b'"text"', b'[{"pass": "x"}]'])
def test_json_that_is_no_object_is_nobodys(opened: Open, body: bytes) -> None:
    channel = opened(**by_word(call_as="json"))
    assert call(f"http://127.0.0.1:{channel.port}/in", body) == 403


def test_half_a_surrogate_pair_does_not_come_back_for_ever(opened: Open, door: SqliteDoor) -> None:
    channel = opened(**by_word(call_as="json"))
    body = json.dumps({"from": ASHA, "text": "ok \ud83c", "pass": SECRET}).encode()
    assert call(f"http://127.0.0.1:{channel.port}/in", body) == 200
    assert door.texts() == ["ok \ufffd"]
    listed = json.dumps([{"from": ASHA}]).encode()
    assert call(f"http://127.0.0.1:{channel.port}/in", listed) == 403


@pytest.mark.parametrize("sender", ["AIRTEL", "55555"])
def test_who_cannot_be_answered_is_set_aside(opened: Open, door: SqliteDoor, sender: str) -> None:
    channel = opened(**by_word())
    body = urlencode({"from": sender, "text": "Win!", "pass": SECRET}).encode()
    assert call(f"http://127.0.0.1:{channel.port}/in", body) == 200
    assert door.tried == 0


@pytest.mark.parametrize(
    ("given", "mend"),
    [
        ({"send_url": "example.org"}, "SEND_URL is no address"),
        ({"send_url": "http://[x"}, "SEND_URL is no address"),
        ({"send_method": "post"}, "method in capitals"),
        ({"send_as": "xml"}, "SEND_AS is one of form, json, query"),
        ({"send_fields": "to"}, "'to' is not name=value"),
        ({"send_fields": "a={to}&b={body}"}, "{body} is nothing a message has"),
        ({"send_fields": "a={to}"}, "has to hold {text}"),
        ({"send_fields": "a={to}&a.b={text}"}, "no place for 'b'"),
        ({"send_fields": "a.1={to}&b={text}"}, "no place for '1'"),
        ({"send_headers": "X={text}"}, "a header is one line"),
        ({"accepted_status": "2xx"}, "codes parted by commas"),
        ({"accepted_answer": "queued"}, "path=word,word or ~pattern"),
        ({"accepted_answer": "~("}, "is no pattern"),
        ({"listen": "8080"}, "host:port"),
        (by_word(call_as="xml"), "CALL_AS is one of"),
        (by_word(signature_hash="md5"), "SIGNATURE_HASH is one of"),
        (by_word(secret="short"), "in a member's name"),
        (by_word(secret_field=""), "set the one that the service uses"),
        (by_word(secret_header="X"), "set the one that the service uses"),
        (
            by_word(secret_field="", signature_header="X", signature_of="{header:T}"),
            "has to hold {body}",
        ),
        (by_word(in_path="/report"), "has to differ"),
        (by_word(in_path="in"), "begins with /"),
        ({"country": "IND"}, "two capital letters"),
        ({"most_parts": "0"}, "between 1 and 255"),
        ({"timeout_s": "0"}, "above 0"),
    ],
)
def test_a_wrong_setting_is_one_line_with_the_mend(
    opened: Open, given: dict[str, str], mend: str
) -> None:
    with pytest.raises(SettingsError) as fault:
        opened(**given)
    assert mend in str(fault.value)
    assert "\n" not in str(fault.value)
    assert str(fault.value).startswith("STIRBELL_HTTP_SMS_")
