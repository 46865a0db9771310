"""The listener: what its callers hear, and when."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from http import HTTPStatus

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.listener import LONGEST_BODY, Call, Listener, Patience, Turned, address, fields, same
from bot.settings import SettingsError
from tests.contract.seam import until
from tests.live.peers.http_peer import call

VARIABLE = "STIRBELL_X_LISTEN"


class Desk:
    """Takes calls; may be told to fail."""

    def __init__(self) -> None:
        self.calls: list[Call] = []
        self.fault: Exception | None = None

    def take(self, call: Call) -> None:
        if self.fault is not None:
            raise self.fault
        self.calls.append(call)


@pytest.fixture
def desk() -> Desk:
    return Desk()


@pytest.fixture
def listener(desk: Desk) -> Iterator[Listener]:
    listener = Listener("127.0.0.1:0", VARIABLE, {"/in": desk.take})
    yield listener
    listener.close()


def url(listener: Listener, path: str = "/in") -> str:
    return f"http://127.0.0.1:{listener.port}{path}"


def test_what_was_taken_is_answered_with_200(listener: Listener, desk: Desk) -> None:
    assert call(url(listener, "/in?a=1"), b"body", {"X-Y": "z"}) == 200
    [taken] = desk.calls
    assert (taken.method, taken.path, taken.body) == ("POST", "/in", b"body")
    assert taken.query() == {"a": b"1"}
    assert taken.headers["x-y"] == "z"
    assert call(url(listener)) == 200


@pytest.mark.parametrize(
    ("fault", "status"),
    [
        (OSError("the database is away"), 500),
        (Turned(HTTPStatus.FORBIDDEN), 403),
        (Turned(HTTPStatus.BAD_REQUEST), 400),
    ],
)
def test_whose_fault_it_was_is_heard(
    listener: Listener, desk: Desk, fault: Exception, status: int
) -> None:
    desk.fault = fault
    assert call(url(listener)) == status


def test_what_is_not_there_is_not_found(listener: Listener) -> None:
    assert call(url(listener, "/else")) == 404


@pytest.mark.parametrize("length", ["-1", "many", str(LONGEST_BODY + 1)])
def test_a_body_of_no_sensible_length_is_not_read(
    listener: Listener, desk: Desk, length: str
) -> None:
    with socket.create_connection(("127.0.0.1", listener.port), timeout=5) as raw:
        raw.sendall(f"POST /in HTTP/1.1\r\nHost: x\r\nContent-Length: {length}\r\n\r\n".encode())
        assert b" 413 " in raw.recv(1000)
    assert not desk.calls


def test_strangers_cannot_take_every_connection(desk: Desk) -> None:
    listener = Listener("127.0.0.1:0", VARIABLE, {"/in": desk.take}, Patience(4, idle_s=0.5))
    strangers = [
        socket.create_connection(("127.0.0.1", listener.port), timeout=5) for _ in range(4)
    ]
    assert until(lambda: call(url(listener)) == 0)
    # They say nothing, and are shown out.
    assert until(lambda: call(url(listener)) == 200)
    for stranger in strangers:
        stranger.close()
    listener.close()


def test_a_closed_listener_answers_nobody(desk: Desk) -> None:
    listener = Listener("127.0.0.1:0", VARIABLE, {"/in": desk.take})
    listener.close()
    assert call(url(listener)) == 0
    assert not desk.calls


def test_a_call_that_comes_while_it_closes_is_to_come_again(desk: Desk) -> None:
    listener = Listener("127.0.0.1:0", VARIABLE, {"/in": desk.take})
    listener.routes = {}
    assert call(url(listener)) == 500
    listener.close()


def test_many_callers_at_once_are_all_heard(listener: Listener, desk: Desk) -> None:
    heard: list[int] = []
    threads = [
        threading.Thread(target=lambda: heard.append(call(url(listener)))) for _ in range(32)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert heard == [200] * 32
    assert len(desk.calls) == 32


@pytest.mark.parametrize("listen", ["", "8080", ":8080", "host:", "host:port", "host:99999"])
def test_an_address_that_is_none_is_one_line_with_the_mend(listen: str) -> None:
    with pytest.raises(SettingsError, match="STIRBELL_X_LISTEN is not host:port"):
        address(listen, VARIABLE)


def test_an_address_that_is_taken_says_so(listener: Listener) -> None:
    with pytest.raises(SettingsError, match="cannot listen at"):
        Listener(f"127.0.0.1:{listener.port}", VARIABLE, {})


def test_the_newer_internet_protocol_is_spoken_too(desk: Desk) -> None:
    listener = Listener("[::1]:0", VARIABLE, {"/in": desk.take})
    assert call(f"http://[::1]:{listener.port}/in") == 200
    listener.close()


@given(st.dictionaries(st.text("abc", min_size=1), st.binary(max_size=20), max_size=5))
def test_octets_pass_through_a_query_unharmed(wanted: dict[str, bytes]) -> None:
    encoded = "&".join(
        f"{name}=" + "".join(f"%{octet:02X}" for octet in value) for name, value in wanted.items()
    )
    assert fields(encoded) == wanted


def test_a_field_that_comes_twice_counts_once_and_a_flood_of_fields_is_turned_away() -> None:
    assert fields("a=1&a=2") == {"a": b"1"}
    with pytest.raises(Turned) as turned:
        fields("&".join(f"f{n}=1" for n in range(1000)))
    assert turned.value.status is HTTPStatus.BAD_REQUEST


def test_secrets_are_the_same_only_if_there_is_one() -> None:
    assert same("abc", b"abc")
    assert not same("abd", "abc")
    assert not same("", "")
