"""The gateway's channel with the real Kannel: bearerbox and smsbox on deploy/kannel's example.

Behind it stands a message centre that speaks SMPP, or Kannel's own fake carrier.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from bot.channels import gateway
from bot.clock import system_now
from bot.messages import Became, Incoming, Outgoing
from bot.wording.segments import gsm_codes, is_gsm, split
from tests.contract.seam import until
from tests.live.peers import pdus
from tests.live.peers.carrier import Carrier
from tests.live.peers.kannel import Kannel, free_port
from tests.live.peers.smpp_centre import INVALID_DESTINATION, UCS2, SmppCentre
from tests.live.peers.sqlite_door import SqliteDoor

pytestmark = pytest.mark.live

ASHA = "+919876543210"
SECRET = "s3cret-s3cret-s3cret"
HINDI = "पत्ती पर छिड़काव: हर टंकी में 4 L घोल + 12 L पानी। 🌱 " * 3
ENGLISH = "Per tank: 4 L culture + 12 L water [16 L], 3 €. Three tanks: 12 L + 36 L. " * 5

FAKE = """group = smsc
smsc = fake
smsc-id = FAKE
port = {port}
our-host = 127.0.0.1
connect-allow-ip = 127.0.0.1
"""


@pytest.fixture
def centre() -> Iterator[SmppCentre]:
    centre = SmppCentre()
    yield centre
    centre.close()


@pytest.fixture
def bot_port() -> int:
    return free_port()


@pytest.fixture
def kannel(tmp_path: Path, centre: SmppCentre, bot_port: int) -> Iterator[Kannel]:
    kannel = Kannel(
        tmp_path / "kannel",
        bot_port,
        **{
            "=SECRET&": f"={SECRET}&",
            "SMPP.CARRIER.EXAMPLE": "127.0.0.1",
            "port = 2775": f"port = {centre.port}",
            "reconnect-delay = 10": "reconnect-delay = 1",
        },
    )
    try:
        kannel.start()
        assert until(lambda: centre.bound >= 1, within_s=10), kannel.log()
        yield kannel
    finally:
        kannel.stop()


def opened(kannel: Kannel, bot_port: int, door: SqliteDoor, **more: str) -> gateway.Gateway:
    options = gateway.SETTINGS(
        more.get("password", "pw"),
        SECRET,
        send_url=kannel.send_url,
        listen=f"127.0.0.1:{bot_port}",
        called=f"http://127.0.0.1:{bot_port}",
    )
    return gateway.open_channel(options, door, system_now)


@pytest.fixture
def channel(kannel: Kannel, bot_port: int, door: SqliteDoor) -> Iterator[gateway.Gateway]:
    channel = opened(kannel, bot_port, door)
    yield channel
    channel.close()


def note(text: str, key: str = "k1", *, valid_until: datetime | None = None) -> Outgoing:
    return Outgoing(key, ASHA, text, valid_until=valid_until)


def said(
    centre: SmppCentre, text: str, reference: int = 7, order: tuple[int, ...] = ()
) -> list[int]:
    """A subscriber's phone sends the text, in parts where it must; the number of each part."""
    numbers, parts = [], split(text)
    for at in order or range(len(parts)):
        header = bytes([0, 3, reference, len(parts), at + 1]) if len(parts) > 1 else b""
        body = gsm_codes(parts[at]) if is_gsm(text) else parts[at].encode("utf-16-be")
        numbers.append(centre.says(ASHA, "55555", body, 0 if is_gsm(text) else UCS2, header))
    return numbers


def received(centre: SmppCentre) -> list[str]:
    """What the subscriber's phone would show. No part here ends within a surrogate pair."""
    return pdus.messages([(one.header, one.text) for one in centre.got])


def test_long_messages_in_both_alphabets_go_both_ways(
    channel: gateway.Gateway, centre: SmppCentre, door: SqliteDoor, kannel: Kannel
) -> None:
    said(centre, HINDI, 7, order=(1, 0, *range(2, len(split(HINDI)))))
    said(centre, ENGLISH, 8)
    said(centre, "stirred")
    assert until(lambda: len(door.arrived) == 3, within_s=15), kannel.log()
    assert sorted(door.texts()) == sorted([HINDI, ENGLISH, "stirred"])
    assert {one.address for one in door.arrived} == {ASHA}
    for key, text in (("hi", HINDI), ("en", ENGLISH), ("short", "Per tank: 4 L [x] €")):
        assert channel.send(note(text, key)).became is Became.SENT
    assert until(lambda: len(door.rows("select * from receipts")) == 3, within_s=15), kannel.log()
    assert sorted(received(centre)) == sorted([HINDI, ENGLISH, "Per tank: 4 L [x] €"])
    assert {row[:2] for row in door.rows("select * from receipts")} == {
        ("hi", 1),
        ("en", 1),
        ("short", 1),
    }


def test_a_message_that_is_not_delivered_says_so(
    channel: gateway.Gateway, centre: SmppCentre, door: SqliteDoor, kannel: Kannel
) -> None:
    centre.receipts = "UNDELIV"
    assert channel.send(note("stir")).became is Became.SENT
    assert until(lambda: bool(door.rows("select * from receipts")), within_s=15), kannel.log()
    [(key, delivered, cause)] = door.rows("select * from receipts")
    assert (key, delivered) == ("k1", 0)
    assert "UNDELIV" in str(cause)


def test_a_number_the_carrier_turns_down_comes_back_as_a_receipt(
    channel: gateway.Gateway, centre: SmppCentre, door: SqliteDoor, kannel: Kannel
) -> None:
    centre.refuse_with = INVALID_DESTINATION
    assert channel.send(note("stir")).became is Became.SENT
    assert until(lambda: bool(door.rows("select * from receipts")), within_s=15), kannel.log()
    [(key, delivered, cause)] = door.rows("select * from receipts")
    assert (key, delivered) == ("k1", 0)
    assert "turned it down" in str(cause)


def test_an_alert_bears_its_validity_to_the_carrier(
    channel: gateway.Gateway, centre: SmppCentre
) -> None:
    until_ = system_now() + timedelta(hours=2)
    assert channel.send(note("Spray at 6", valid_until=until_)).became is Became.SENT
    assert channel.send(note("hello", "k2")).became is Became.SENT
    assert until(lambda: len(centre.got) == 2, within_s=10)
    by_text = {one.text: one.validity for one in centre.got}
    assert by_text["Spray at 6"]
    assert not by_text["hello"]


def test_what_arrived_while_the_bot_was_down_comes_in_when_it_is_up(
    kannel: Kannel, centre: SmppCentre, bot_port: int, door: SqliteDoor
) -> None:
    for n in range(5):
        said(centre, f"used {n} l")
    until(lambda: False, within_s=2)
    channel = opened(kannel, bot_port, door)
    assert until(lambda: len(door.arrived) == 5, within_s=15), kannel.log()
    channel.close()
    assert sorted(door.texts()) == [f"used {n} l" for n in range(5)]


def test_what_we_could_not_keep_is_brought_again_and_kept_once(
    channel: gateway.Gateway, centre: SmppCentre, door: SqliteDoor, kannel: Kannel
) -> None:
    def away(_: Incoming) -> None:
        raise OSError("the disk is full")

    door.refuses = away
    said(centre, "stirred")
    assert until(lambda: door.tried >= 2, within_s=15), kannel.log()
    assert door.texts() == []
    door.refuses = None
    assert until(lambda: door.texts() == ["stirred"], within_s=15)
    assert channel.name == "gateway"


def test_both_boxes_die_and_come_back(
    channel: gateway.Gateway, centre: SmppCentre, door: SqliteDoor, kannel: Kannel
) -> None:
    assert channel.send(note("before", "before")).became is Became.SENT
    kannel.kill_smsbox()
    outcome = channel.send(note("while it is dead", "dead"))
    assert (outcome.became, outcome.whole_channel) == (Became.LATER, True)
    (number,) = said(centre, "while it was dead")
    if not until(lambda: centre.acknowledged.get(number) == 0, within_s=5):
        # It was on its way to the box that died. What is not acknowledged, a carrier sends again.
        (number,) = said(centre, "while it was dead", 8)
    assert until(lambda: centre.acknowledged.get(number) == 0, within_s=15), kannel.log()
    kannel.kill_bearerbox()
    kannel.start()
    assert until(lambda: centre.bound >= 2, within_s=15), kannel.log()
    assert until(lambda: "while it was dead" in door.texts(), within_s=15), kannel.log()
    assert channel.send(note("while it is dead", "dead")).became is Became.SENT
    assert until(lambda: len(centre.got) >= 2, within_s=15)
    assert sorted({one.text for one in centre.got}) == ["before", "while it is dead"]


def test_a_broken_link_to_the_carrier_is_made_again(
    channel: gateway.Gateway, centre: SmppCentre, kannel: Kannel
) -> None:
    centre.drop()
    assert channel.send(note("stir")).became is Became.SENT
    assert until(lambda: len(centre.got) == 1, within_s=20), kannel.log()
    assert centre.bound >= 2


def test_the_gateways_error_answers_are_told_apart(
    kannel: Kannel, bot_port: int, door: SqliteDoor, channel: gateway.Gateway
) -> None:
    del bot_port
    channel.close()
    other = opened(kannel, free_port(), door, password="wrong")
    outcome = other.send(note("stir"))
    other.close()
    assert (outcome.became, outcome.whole_channel) == (Became.LATER, True)
    assert "Authorization failed" in outcome.cause


@pytest.mark.usefixtures("channel")
def test_what_no_member_wrote_and_what_cannot_be_read_is_told_apart(
    centre: SmppCentre, door: SqliteDoor, kannel: Kannel
) -> None:
    centre.says("AIRTEL", "55555", b"Recharge now")
    centre.says(ASHA, "55555", bytes(range(20)), 4)
    centre.says(ASHA, "55555", b"abc", 0, bytes([0x25, 1, 6]))
    said(centre, "stirred")
    assert until(lambda: "stirred" in door.texts(), within_s=15), kannel.log()
    assert until(lambda: len(door.arrived) == 3, within_s=5), kannel.log()
    assert sorted((one.text, one.fault) for one in door.arrived) == [
        ("", "binary"),
        ("", "shift_table"),
        ("stirred", ""),
    ]


def test_kannels_own_fake_carrier_is_served_too(
    tmp_path: Path, bot_port: int, door: SqliteDoor
) -> None:
    port = free_port()
    fake = FAKE.format(port=port)
    kannel = Kannel(tmp_path / "kannel", bot_port, fake, **{"=SECRET&": f"={SECRET}&"})
    channel = opened(kannel, bot_port, door)
    try:
        kannel.start()
        carrier = Carrier(port)
        carrier.says(ASHA, "55555", "leaf spray 3 tanks of 16 litres")
        assert until(lambda: bool(door.arrived), within_s=15), kannel.log()
        assert door.texts() == ["leaf spray 3 tanks of 16 litres"]
        assert channel.send(note(HINDI[:60])).became is Became.SENT
        assert channel.send(note("a" * 161, "k2")).became is Became.SENT
        assert until(lambda: len(carrier.got) == 3, within_s=10), kannel.log()
        assert carrier.got[0].body.decode("utf-16-be") == HINDI[:60]
        assert [len(one.body) for one in carrier.got[1:]] == [153, 8]
        assert until(lambda: len(door.rows("select * from receipts")) == 2, within_s=10)
        carrier.close()
    finally:
        channel.close()
        kannel.stop()
