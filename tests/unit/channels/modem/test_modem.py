"""The modem's channel on a stand-in for its daemon."""

from __future__ import annotations

import os
import sqlite3
import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from bot.channels import modem
from bot.messages import Became, Outgoing
from bot.settings import SettingsError
from tests.contract.seam import until
from tests.live.peers.daemon_double import DaemonDouble
from tests.live.peers.sqlite_door import SqliteDoor

NOW = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
ASHA = "+919876543210"


def now() -> datetime:
    return NOW


@pytest.fixture
def daemon(tmp_path: Path) -> Iterator[DaemonDouble]:
    double = DaemonDouble(tmp_path / "smsd.db")
    yield double
    double.close()


@pytest.fixture
def door(tmp_path: Path) -> Iterator[SqliteDoor]:
    door = SqliteDoor(tmp_path / "door.sqlite")
    yield door
    door.close()


@pytest.fixture
def calls_dir(tmp_path: Path) -> Path:
    folder = tmp_path / "calls"
    folder.mkdir()
    return folder


@pytest.fixture
def channel(daemon: DaemonDouble, door: SqliteDoor, calls_dir: Path) -> Iterator[modem.Modem]:
    options = modem.SETTINGS(
        daemon.address,
        zone="Asia/Kolkata",
        country="IN",
        calls_dir=str(calls_dir),
        poll_s=0.01,
        wait_s=0.6,
        assemble_s=0.3,
    )
    channel = modem.open_channel(options, door, now)
    yield channel
    channel.close()


def note(text: str = "stir", key: str = "k1", valid_until: datetime | None = None) -> Outgoing:
    return Outgoing(key=key, address=ASHA, text=text, valid_until=valid_until)


def test_a_senders_number_and_the_daemons_local_time_are_made_the_worlds(
    channel: modem.Modem, daemon: DaemonDouble, door: SqliteDoor
) -> None:
    daemon.receive("098765 43210", "done", at="2026-03-02 07:00:00")
    assert until(lambda: len(door.arrived) == 1)
    assert door.arrived[0].address == ASHA
    assert door.arrived[0].sent_at == datetime(2026, 3, 2, 1, 30, tzinfo=UTC)
    assert channel.name == "modem"


def test_a_stamp_from_the_future_counts_as_now(
    channel: modem.Modem, daemon: DaemonDouble, door: SqliteDoor
) -> None:
    assert channel.polled
    daemon.receive(ASHA, "done", at="2031-03-02 07:00:00")
    assert until(lambda: len(door.arrived) == 1)
    assert door.arrived[0].sent_at == NOW


@pytest.mark.usefixtures("channel")
@pytest.mark.parametrize(("sender", "kind"), [("AIRTEL", -1), ("55555", -1), ("", -1), (ASHA, 127)])
def test_who_cannot_be_answered_is_set_aside_and_marked(
    daemon: DaemonDouble, door: SqliteDoor, sender: str, kind: int
) -> None:
    daemon.receive(sender, "Recharge now", kind=kind)
    assert until(lambda: daemon.processed() == 1)
    assert door.tried == 0


@pytest.mark.usefixtures("channel")
def test_a_message_that_stays_incomplete_is_asked_for_again_after_its_wait(
    daemon: DaemonDouble, door: SqliteDoor
) -> None:
    daemon.receive(ASHA, "use 5", udh="0500034A0201")
    daemon.receive(ASHA, "stirred", at="2026-03-02 07:01:00")
    assert until(lambda: len(door.arrived) == 2)
    assert [(one.text, one.fault) for one in door.arrived] == [
        ("stirred", ""),
        ("", "part_missing"),
    ]
    assert "0075007300650020" in door.arrived[1].raw
    assert until(lambda: daemon.processed() == 2)


@pytest.mark.usefixtures("channel")
def test_a_part_saved_again_after_its_message_was_taken_is_dropped(
    daemon: DaemonDouble, door: SqliteDoor
) -> None:
    daemon.receive(ASHA, "use ", udh="0500034A0201")
    daemon.receive(ASHA, "5 l", udh="0500034A0202")
    assert until(lambda: daemon.processed() == 2)
    daemon.repeat()
    assert until(lambda: daemon.processed() == 3)
    assert door.texts() == ["use 5 l"]


def test_a_missed_call_comes_in_once_however_often_it_rings(
    channel: modem.Modem, calls_dir: Path, door: SqliteDoor
) -> None:
    at = datetime(2026, 3, 2, 6, 0, tzinfo=UTC).timestamp()
    for name, text in [("1", ASHA), ("2", ASHA), ("3", "; rm -rf"), ("4", "55555")]:
        written = calls_dir / f"{name}.part"
        written.write_text(text)
        os.utime(written, (at, at))
        written.rename(calls_dir / f"{name}.call")
    assert until(lambda: not list(calls_dir.glob("*.call")))
    [call] = door.arrived
    assert (call.address, call.missed_call, call.text) == (ASHA, True, "")
    assert call.sent_at == datetime(2026, 3, 2, 6, 0, tzinfo=UTC)
    later = calls_dir / "5.call"
    later.write_text(ASHA)
    assert until(lambda: len(door.arrived) == 2)
    assert channel.pace.at_once >= 1


def test_a_long_message_goes_as_parts_with_one_reference(
    channel: modem.Modem, daemon: DaemonDouble
) -> None:
    text = "मिलाएँ 🌱 " * 20
    assert channel.send(note(text)).became is Became.SENT
    assert daemon.sent == [(ASHA, text)]
    rows = daemon.query("select Text, CreatorID from sentitems")
    assert len(rows) > 1
    assert all(len(str(part)) <= 67 * 4 for part, _ in rows)


def test_a_message_with_an_end_bears_its_validity(
    channel: modem.Modem, daemon: DaemonDouble
) -> None:
    assert channel.send(note(valid_until=NOW + timedelta(hours=1))).became is Became.SENT
    assert daemon.query("select RelativeValidity from sentitems") == [(11,)]
    late = channel.send(note(key="k2", valid_until=NOW))
    assert late.became is Became.REFUSED
    assert late.cause == "its time has passed"


def test_a_key_that_was_sent_is_never_sent_again(
    channel: modem.Modem, daemon: DaemonDouble
) -> None:
    assert channel.send(note()).became is Became.SENT
    assert channel.send(note()).became is Became.SENT
    assert len(daemon.sent) == 1


def test_a_key_whose_send_failed_is_sent_anew(channel: modem.Modem, daemon: DaemonDouble) -> None:
    daemon.code = 38
    assert channel.send(note()).became is Became.LATER
    daemon.code = None
    assert channel.send(note()).became is Became.SENT
    assert daemon.sent == [(ASHA, "stir")]


def test_what_the_daemon_never_took_up_is_taken_back(
    channel: modem.Modem, daemon: DaemonDouble
) -> None:
    daemon.works = False
    outcome = channel.send(note("a" * 200))
    assert (outcome.became, outcome.whole_channel) == (Became.LATER, True)
    assert "see that it runs" in outcome.cause
    assert daemon.query("select count(*) from outbox") == [(0,)]
    assert daemon.query("select count(*) from outbox_multipart") == [(0,)]
    daemon.works = True
    assert channel.send(note("a" * 200)).became is Became.SENT


def test_what_the_daemon_had_in_hand_is_held_and_let_go_by_the_next_try(
    channel: modem.Modem, daemon: DaemonDouble
) -> None:
    daemon.stalls = True
    assert channel.send(note()).became is Became.UNKNOWN
    daemon.stalls = False
    daemon.query("update outbox set SendingTimeOut = '2001-01-01 00:00:00'")
    assert not until(lambda: bool(daemon.sent), within_s=0.2)
    assert channel.send(note()).became is Became.SENT
    assert daemon.sent == [(ASHA, "stir")]


def test_a_message_that_waits_for_another_try_says_why_the_last_failed(
    channel: modem.Modem, daemon: DaemonDouble
) -> None:
    daemon.stalls = True
    threading.Timer(
        0.3, lambda: daemon.query("update outbox set Retries = 1, StatusCode = 8")
    ).start()
    outcome = channel.send(note())
    assert outcome.became is Became.LATER
    assert "barred" in outcome.cause
    assert outcome.whole_channel


@pytest.mark.parametrize("address", ["AIRTEL", "55555", "", "+449098790000", "; drop table"])
def test_names_short_codes_and_premium_numbers_are_never_written_to(
    channel: modem.Modem, daemon: DaemonDouble, address: str
) -> None:
    outcome = channel.send(Outgoing("k1", address, "stir"))
    assert outcome.became is Became.REFUSED
    assert outcome.dead_address
    assert daemon.query("select count(*) from outbox") == [(0,)]


@pytest.mark.parametrize(("text", "cause"), [(" ", "nothing"), ("a" * 1000, "takes 7 SMS")])
def test_what_no_modem_should_send_is_refused(channel: modem.Modem, text: str, cause: str) -> None:
    outcome = channel.send(note(text))
    assert outcome.became is Became.REFUSED
    assert cause in outcome.cause


@pytest.mark.parametrize(
    ("status", "error", "delivered", "cause"),
    [
        ("DeliveryOK", 0, 1, ""),
        ("DeliveryFailed", 70, 0, "not delivered (status 70)"),
        ("SendingError", 0, 0, "the modem did not send it (CMS -1)"),
    ],
)
def test_a_report_is_passed_on_once_under_the_messages_key(
    channel: modem.Modem,
    daemon: DaemonDouble,
    door: SqliteDoor,
    status: str,
    error: int,
    delivered: int,
    cause: str,
) -> None:
    outcome = channel.send(note("a" * 200))
    daemon.report(status, error)
    assert until(lambda: bool(door.rows("select * from receipts")))
    until(lambda: False, within_s=0.1)
    assert door.rows("select * from receipts") == [("k1", delivered, cause)]
    assert outcome.outside_id == "k1"


def test_a_message_is_delivered_once_all_its_parts_are(
    channel: modem.Modem, daemon: DaemonDouble, door: SqliteDoor
) -> None:
    channel.send(note("a" * 200))
    daemon.query("update sentitems set Status = 'DeliveryOK' where SequencePosition = 1")
    assert not until(lambda: bool(door.rows("select * from receipts")), within_s=0.2)
    daemon.report("DeliveryOK")
    assert until(lambda: len(door.rows("select * from receipts")) == 1)


def test_a_locked_database_loses_nothing_and_is_tried_again(
    channel: modem.Modem, daemon: DaemonDouble, door: SqliteDoor
) -> None:
    daemon.works = False
    other = sqlite3.connect(daemon.path, isolation_level=None)
    daemon.receive(ASHA, "done")
    other.execute("begin immediate")
    until(lambda: False, within_s=0.3)
    other.execute("rollback")
    other.close()
    daemon.works = True
    assert until(lambda: door.texts() == ["done"])
    assert channel.send(note()).became is Became.SENT


def test_a_database_that_is_gone_is_a_later_for_the_whole_channel(
    channel: modem.Modem, daemon: DaemonDouble
) -> None:
    daemon.works = False
    daemon.query("alter table outbox rename to gone")
    outcome = channel.send(note())
    assert (outcome.became, outcome.whole_channel) == (Became.LATER, True)
    assert "database" in outcome.cause


def test_tables_that_vanish_while_it_waits_leave_the_send_unknown(
    channel: modem.Modem, daemon: DaemonDouble
) -> None:
    daemon.stalls = True

    def vanish() -> None:
        daemon.works = False
        daemon.query("alter table outbox rename to gone")

    timer = threading.Timer(0.2, vanish)
    timer.start()
    assert channel.send(note()).became is Became.UNKNOWN
    timer.join()


def test_a_row_somebody_took_off_the_queue_leaves_the_send_unknown(
    channel: modem.Modem, daemon: DaemonDouble
) -> None:
    daemon.works = False
    timer = threading.Timer(0.2, lambda: daemon.query("delete from outbox"))
    timer.start()
    outcome = channel.send(note())
    timer.join()
    assert outcome.became is Became.UNKNOWN


def test_what_is_done_with_is_deleted_after_its_days(
    daemon: DaemonDouble, door: SqliteDoor
) -> None:
    daemon.receive(ASHA, "old")
    daemon.query("update inbox set Processed = 'true', UpdatedInDB = '2026-02-01 00:00:00'")
    daemon.receive("AIRTEL", "new")
    for key, at in [("stirbell:old", "2026-02-01"), ("stirbell:new", "2026-03-01")]:
        daemon.query(
            "insert into sentitems (Text, ID, CreatorID, InsertIntoDB) values ('', ?, ?, ?)",
            hash(key) % 1000,
            key,
            at + " 00:00:00",
        )
        daemon.query(
            "insert into outbox (SendAfter, SendBefore, CreatorID, InsertIntoDB)"
            " values ('23:59:59', '00:00:00', ?, ?)",
            key,
            at + " 00:00:00",
        )
    channel = modem.open_channel(modem.SETTINGS(daemon.address, poll_s=0.01), door, now)
    assert until(lambda: daemon.query("select CreatorID from outbox") == [("stirbell:new",)])
    channel.close()
    assert daemon.query("select CreatorID from sentitems") == [("stirbell:new",)]
    assert daemon.query("select SenderNumber from inbox") == [("AIRTEL",)]


def test_a_phone_of_several_takes_only_its_own(daemon: DaemonDouble, door: SqliteDoor) -> None:
    options = modem.SETTINGS(daemon.address, phone="phone2", poll_s=0.01)
    channel = modem.open_channel(options, door, now)
    daemon.receive(ASHA, "for phone1")
    assert not until(lambda: bool(door.arrived), within_s=0.2)
    channel.send(note())
    assert daemon.query("select count(*) from inbox where Processed = 'true'") == [(0,)]
    channel.close()


@pytest.mark.parametrize(
    ("name", "value", "mend"),
    [
        ("database", "nowhere", "is no database address"),
        ("database", "mysql+x://h/d", "neither SQLite nor PostgreSQL"),
        ("database", "sqlite:////no/such/file", "there is no file"),
        ("database", "sqlite://", "there is no file"),
        ("zone", "Mars/Base", "no zone's name"),
        ("calls_dir", "/no/such/folder", "make it"),
        ("country", "India", "two capital letters"),
        ("most_parts", 0, "between 1 and 255"),
        ("poll_s", 0.0, "above 0"),
        ("keep_days", 0, "1 or more"),
    ],
)
def test_a_wrong_setting_is_one_line_with_the_mend(
    daemon: DaemonDouble, door: SqliteDoor, name: str, value: object, mend: str
) -> None:
    given = {"database": daemon.address, name: value}
    with pytest.raises(SettingsError, match=mend) as fault:
        modem.open_channel(modem.SETTINGS(**given), door, now)  # type: ignore[arg-type]
    assert "\n" not in str(fault.value)
    assert "STIRBELL_MODEM_" in str(fault.value)


@pytest.mark.parametrize(
    ("done", "mend"),
    [
        ("drop table gammu", "no tables of the daemon"),
        ("update gammu set Version = 16", "tables of version 16"),
    ],
)
def test_tables_of_another_version_are_an_operators_mistake(
    daemon: DaemonDouble, door: SqliteDoor, done: str, mend: str
) -> None:
    daemon.query(done)
    with pytest.raises(SettingsError, match=mend):
        modem.open_channel(modem.SETTINGS(daemon.address), door, now)


def test_a_database_that_is_away_at_the_start_does_not_stop_the_opening(door: SqliteDoor) -> None:
    options = modem.SETTINGS("postgresql+psycopg://nobody@127.0.0.1:9/none", poll_s=0.01)
    channel = modem.open_channel(options, door, now)
    outcome = channel.send(note())
    assert (outcome.became, outcome.whole_channel) == (Became.LATER, True)
    channel.close()
