"""The modem's channel with the real gammu-smsd, whose own driver talks to a simulated modem."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from bot.channels import modem
from bot.clock import system_now
from bot.messages import Became, Outcome, Outgoing
from bot.wording.segments import split
from tests.contract.seam import until
from tests.live.peers import pdus, postgres
from tests.live.peers.atmodem import Modem
from tests.live.peers.smsd import Smsd
from tests.live.peers.sqlite_door import SqliteDoor

pytestmark = pytest.mark.live
# The daemon needs four seconds to find its modem. What runs wherever the daemon is there: both
# ways in both alphabets, a barred SIM, a missed call; the rest of these is for the full run.
slow = pytest.mark.slow

ASHA = "+919876543210"
IST = timezone(timedelta(hours=5, minutes=30))
AT = datetime(2026, 3, 2, 7, 0, tzinfo=IST)
HINDI = "पत्ती पर छिड़काव: हर टंकी में 4 L घोल + 12 L पानी। 🌱 " * 3
ENGLISH = "Per tank: 4 L culture + 12 L water [16 L]. Three tanks: 12 L + 36 L. " * 5


@pytest.fixture
def sim() -> Iterator[Modem]:
    modem_ = Modem()
    yield modem_
    modem_.close()


@pytest.fixture
def door(tmp_path: Path) -> Iterator[SqliteDoor]:
    door = SqliteDoor(tmp_path / "door.sqlite")
    yield door
    door.close()


@pytest.fixture(scope="module")
def pg() -> Iterator[Path]:
    with postgres.server() as running:
        yield running.place


@pytest.fixture
def daemon(tmp_path: Path, sim: Modem) -> Iterator[Smsd]:
    smsd = Smsd(tmp_path, sim)
    smsd.start()
    yield smsd
    smsd.kill()


@pytest.fixture
def channel(daemon: Smsd, door: SqliteDoor) -> Iterator[modem.Modem]:
    channel = opened(daemon, door)
    yield channel
    channel.close()


def opened(daemon: Smsd, door: SqliteDoor, **more: float) -> modem.Modem:
    options = modem.SETTINGS(
        daemon.address,
        zone="UTC",
        calls_dir=str(daemon.calls_dir),
        poll_s=0.1,
        assemble_s=more.get("assemble_s", 30.0),
        wait_s=more.get("wait_s", 30.0),
    )
    return modem.open_channel(options, door, system_now)


def note(text: str, key: str = "k1", *, valid_until: datetime | None = None) -> Outgoing:
    return Outgoing(key, ASHA, text, valid_until=valid_until)


@pytest.mark.parametrize("backend", ["sqlite", pytest.param("postgresql", marks=slow)])
def test_long_messages_in_both_alphabets_go_both_ways(
    backend: str, tmp_path: Path, sim: Modem, door: SqliteDoor, request: pytest.FixtureRequest
) -> None:
    base = request.getfixturevalue("pg") if backend == "postgresql" else None
    smsd = Smsd(tmp_path, sim, postgres=base)
    smsd.start()
    channel = opened(smsd, door)
    sim.report_with = 0
    try:
        hindi = pdus.parts(ASHA, list(split(HINDI)), 7, ucs2=True)
        english = pdus.parts(ASHA, list(split(ENGLISH)), 8, ucs2=False)
        sim.receive(hindi[1], english[2], hindi[0], english[0], *hindi[2:], english[1])
        sim.receive(pdus.deliver(ASHA, "stirred", AT))
        for key, text in (("hi", HINDI), ("en", ENGLISH), ("short", "Per tank: 4 L")):
            assert channel.send(note(text, key)).became is Became.SENT, smsd.log()
        assert until(lambda: len(door.arrived) == 3, within_s=30), smsd.log()
        assert sorted(door.texts()) == sorted([HINDI, ENGLISH, "stirred"])
        assert {one.address for one in door.arrived} == {ASHA}
        assert {one.sent_at for one in door.arrived} == {AT}
        assert pdus.messages([(one.header, one.text) for one in sim.sent]) == [
            HINDI,
            ENGLISH,
            "Per tank: 4 L",
        ]
        assert until(lambda: len(door.rows("select * from receipts")) == 3, within_s=20), smsd.log()
        assert {row[:2] for row in door.rows("select * from receipts")} == {
            ("hi", 1),
            ("en", 1),
            ("short", 1),
        }
    finally:
        channel.close()
        smsd.kill()


@slow
def test_a_report_of_a_message_that_ran_out_says_not_delivered(
    channel: modem.Modem, sim: Modem, door: SqliteDoor, daemon: Smsd
) -> None:
    sim.report_with = 0x46
    assert channel.send(note("stir")).became is Became.SENT
    assert until(lambda: bool(door.rows("select * from receipts")), within_s=20), daemon.log()
    assert door.rows("select * from receipts") == [("k1", 0, "not delivered (status 70)")]


@slow
def test_what_arrived_while_the_bot_was_down_comes_in_when_it_is_up(
    daemon: Smsd, sim: Modem, door: SqliteDoor
) -> None:
    opened(daemon, door).close()
    texts = [f"used {n} l" for n in range(1, 6)]
    sim.receive(*(pdus.deliver(ASHA, text, AT) for text in texts))
    waiting = "select count(*) from inbox where Processed = 'false'"
    assert until(lambda: daemon.query(waiting) == [(5,)], within_s=20), daemon.log()
    channel = opened(daemon, door)
    assert until(lambda: len(door.arrived) == 5, within_s=10)
    channel.close()
    assert door.texts() == texts
    assert daemon.query(waiting) == [(0,)]


@slow
def test_a_daemon_that_dies_loses_nothing_and_sends_nothing_late(
    channel: modem.Modem, daemon: Smsd, sim: Modem, door: SqliteDoor
) -> None:
    assert channel.send(note("before", "before")).became is Became.SENT
    daemon.kill()
    channel.close()
    hurried = opened(daemon, door, wait_s=2.0)
    outcome = hurried.send(note("while it is dead", "dead"))
    assert (outcome.became, outcome.whole_channel) == (Became.LATER, True)
    sim.receive(pdus.deliver(ASHA, "while it was dead", AT))
    daemon.start()
    assert until(lambda: door.texts() == ["while it was dead"], within_s=30), daemon.log()
    assert [sent.text for sent in sim.sent] == ["before"]
    hurried.close()
    again = opened(daemon, door)
    assert again.send(note("while it is dead", "dead")).became is Became.SENT
    assert again.send(note("before", "before")).became is Became.SENT
    again.close()
    assert [sent.text for sent in sim.sent] == ["before", "while it is dead"]


@pytest.mark.parametrize(
    ("code", "became", "cause"),
    [
        pytest.param(322, Became.LATER, "memory is full", marks=slow),
        (8, Became.LATER, "barred"),
        pytest.param(38, Became.LATER, "out of order", marks=slow),
        pytest.param(1, Became.REFUSED, "no such number", marks=slow),
    ],
)
def test_a_full_or_barred_sim_and_a_bad_network_say_so_and_mend(
    channel: modem.Modem, daemon: Smsd, sim: Modem, code: int, became: Became, cause: str
) -> None:
    sim.fail_with = lambda _: code
    outcome = channel.send(note("stir"))
    assert outcome.became is became, daemon.log()
    assert cause in outcome.cause
    assert outcome.whole_channel is (became is Became.LATER)
    sim.fail_with = lambda _: None
    assert channel.send(note("stir", "k1" if became is Became.LATER else "k2")).became is (
        Became.SENT
    )
    assert [sent.text for sent in sim.sent] == ["stir"]


@slow
def test_what_waits_for_the_daemons_next_try_is_held_and_goes_with_ours(
    tmp_path: Path, sim: Modem, door: SqliteDoor
) -> None:
    smsd = Smsd(tmp_path, sim, retry_s=3)
    smsd.start()
    sim.fail_with = lambda _: 42
    hurried = opened(smsd, door, wait_s=2.0)
    assert until(lambda: ">" in str(sim.log), within_s=10)
    until(lambda: False, within_s=3)
    outcome = hurried.send(note("stir"))
    assert outcome.became is Became.LATER, smsd.log()
    assert "congested" in outcome.cause
    hurried.close()
    sim.fail_with = lambda _: None
    assert not until(lambda: bool(sim.sent), within_s=6)
    channel = opened(smsd, door)
    assert channel.send(note("stir")).became is Became.SENT
    channel.close()
    smsd.kill()
    assert [sent.text for sent in sim.sent] == ["stir"]


def test_a_missed_call_is_hung_up_and_comes_in(
    channel: modem.Modem, daemon: Smsd, sim: Modem, door: SqliteDoor
) -> None:
    assert channel.send(note("Did you stir? A missed call means done.")).became is Became.SENT
    sim.ring(ASHA, rings=3)
    assert until(lambda: bool(door.arrived), within_s=20), daemon.log()
    [call] = door.arrived
    assert (call.address, call.missed_call, call.text) == (ASHA, True, "")
    assert abs(call.sent_at - datetime.now(UTC)) < timedelta(minutes=1)  # noqa: TID251 - the call's own moment
    assert sim.hung_up >= 1
    assert list(daemon.calls_dir.iterdir()) == []


@slow
def test_an_alert_bears_its_validity_on_the_air(channel: modem.Modem, sim: Modem) -> None:
    until_ = system_now() + timedelta(hours=2, minutes=2)
    assert channel.send(note("Spray at 6", valid_until=until_)).became is Became.SENT
    assert sim.sent[0].validity == 23
    assert sim.sent[0].wants_report
    assert channel.send(note("hello", "k2")).became is Became.SENT
    assert sim.sent[1].validity == 255


@slow
@pytest.mark.usefixtures("channel")
def test_what_no_member_wrote_and_what_cannot_be_read_is_told_apart(
    daemon: Smsd, sim: Modem, door: SqliteDoor
) -> None:
    hindi_locked = bytes([0x25, 1, 6])
    sim.receive(
        pdus.deliver("AIRTEL", "Recharge now; $(touch /tmp/x)", AT),
        pdus.deliver("55555", "Win!", AT),
        pdus.deliver(ASHA, "abc", AT, hindi_locked),
        pdus.deliver(ASHA, "", AT, binary=bytes(range(20))),
        pdus.deliver(ASHA, "stirred", AT),
    )
    done = "select count(*) from inbox where Processed = 'true'"
    assert until(lambda: daemon.query(done) == [(5,)], within_s=20), daemon.log()
    assert [(one.text, one.fault) for one in door.arrived] == [
        ("", "shift_table"),
        ("", "binary"),
        ("stirred", ""),
    ]


@slow
def test_a_part_that_never_comes_is_asked_for_again(
    daemon: Smsd, sim: Modem, door: SqliteDoor
) -> None:
    channel = opened(daemon, door, assemble_s=1.0)
    sim.receive(*pdus.parts(ASHA, list(split(ENGLISH)), 9, ucs2=False)[:2])
    assert until(lambda: bool(door.arrived), within_s=30), daemon.log()
    channel.close()
    assert door.arrived[0].fault == "part_missing"
    assert door.arrived[0].text == ""


@slow
def test_a_daemon_in_another_zone_keeps_the_moment(
    tmp_path: Path, sim: Modem, door: SqliteDoor
) -> None:
    smsd = Smsd(tmp_path, sim)
    smsd.start("Asia/Kolkata")
    options = modem.SETTINGS(smsd.address, zone="Asia/Kolkata", poll_s=0.1)
    channel = modem.open_channel(options, door, system_now)
    sim.receive(pdus.deliver(ASHA, "stirred", AT))
    assert until(lambda: bool(door.arrived), within_s=20), smsd.log()
    assert channel.send(note("thanks")).became is Became.SENT
    channel.close()
    smsd.kill()
    assert door.arrived[0].sent_at == AT


@slow
def test_many_at_once_all_go_out_and_none_twice(
    channel: modem.Modem, sim: Modem, daemon: Smsd
) -> None:
    outcomes: dict[str, Outcome] = {}

    def one(key: str) -> None:
        outcomes[key] = channel.send(note(f"stir {key}", key))

    threads = [threading.Thread(target=one, args=(str(n),)) for n in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert {outcome.became for outcome in outcomes.values()} == {Became.SENT}, daemon.log()
    assert sorted(sent.text for sent in sim.sent) == sorted(f"stir {n}" for n in range(12))
