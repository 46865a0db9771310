from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from bot.channels import telegram
from bot.clock import system_now
from bot.messages import Became, Incoming, Outgoing
from bot.settings import environment
from tests.contract.seam import until
from tests.live.peers.sqlite_door import SqliteDoor
from tests.live.peers.telegram_emulator import Emulator, Heard, installed, missing

pytestmark = pytest.mark.live


@pytest.fixture(scope="module")
def emulator() -> Iterator[Emulator]:
    why = missing()
    try:
        if why:
            raise RuntimeError(why)  # noqa: TRY301 - one way out for every reason
        installed()
    except RuntimeError as fault:
        full = environment().get("CI") == "true" or environment().get("STIRBELL_FULL") == "1"
        (pytest.fail if full else pytest.skip)(f"THE TELEGRAM EMULATOR DID NOT RUN: {fault}")
    with Emulator() as emulator:
        yield emulator


@contextmanager
def answering(emulator: Emulator, door: SqliteDoor, **more: Any) -> Iterator[telegram.Telegram]:
    """A bot that repeats every message with two buttons: enough to see both ways work."""
    options = telegram.SETTINGS(emulator.token, api=emulator.api, **more)
    channel = telegram.open_channel(options, door, system_now)
    stop = threading.Event()

    def answer() -> None:
        done = 0
        while not stop.is_set():
            for incoming in door.arrived[done:]:
                done += 1
                channel.send(reply(incoming))
            stop.wait(0.01)

    worker = threading.Thread(target=answer)
    worker.start()
    try:
        yield channel
    finally:
        stop.set()
        worker.join()
        channel.close()


def reply(incoming: Incoming) -> Outgoing:
    place = f" at {incoming.place}" if incoming.place else ""
    return Outgoing(
        incoming.outside_id,
        incoming.address,
        f"heard: {incoming.text}{place}",
        ("ready", "not yet"),
    )


def test_a_line_typed_is_answered_with_buttons(emulator: Emulator, door: SqliteDoor) -> None:
    grower = emulator.person(1, language="sw")
    with answering(emulator, door):
        grower.types("leaf spray 3 tanks of 16 litres")
        assert grower.reads() == Heard(
            "heard: leaf spray 3 tanks of 16 litres", ("ready", "not yet")
        )
    assert (door.arrived[0].address, door.arrived[0].language_hint) == ("1", "sw")


def test_commands_presses_and_places_arrive(emulator: Emulator, door: SqliteDoor) -> None:
    grower = emulator.person(2)
    with answering(emulator, door):
        grower.types("/start join_K7QM2")
        assert grower.reads().text == "heard: join K7QM2"
        grower.presses("not yet")
        assert grower.reads().text == "heard: not yet"
        grower.shares_place(-1.28, 36.82)
        assert grower.reads().text == "heard:  at (-1.28, 36.82)"


def test_two_people_each_get_their_own(emulator: Emulator, door: SqliteDoor) -> None:
    first, second = emulator.person(3), emulator.person(4)
    with answering(emulator, door):
        for number in range(5):
            first.types(f"first {number}")
            second.types(f"second {number}")
        assert [first.reads().text for _ in range(5)] == [f"heard: first {n}" for n in range(5)]
        assert [second.reads().text for _ in range(5)] == [f"heard: second {n}" for n in range(5)]
        assert not first.has_news()


def test_what_was_typed_while_the_bot_was_away_is_heard_once(
    emulator: Emulator, door: SqliteDoor
) -> None:
    grower = emulator.person(5)
    grower.types("stirred")
    with answering(emulator, door):
        assert grower.reads().text == "heard: stirred"
    grower.types("ready")
    with answering(emulator, door):
        assert until(lambda: len(door.arrived) == 2)
    assert door.texts() == ["stirred", "ready"]


def test_the_same_over_a_webhook(emulator: Emulator, door: SqliteDoor, free_port: int) -> None:
    grower = emulator.person(6)
    hook = {
        "webhook_url": f"http://127.0.0.1:{free_port}/",
        "webhook_listen": f"127.0.0.1:{free_port}",
        "webhook_secret": "s3cret",
    }
    with answering(emulator, door, **hook) as channel:
        assert until(lambda: emulator.hook() != "")
        grower.types("leaf spray 3 tanks of 16 litres")
        assert grower.reads().text == "heard: leaf spray 3 tanks of 16 litres"
        assert channel.send(Outgoing("k", "6", "Stir B1", silent=True)).became is Became.SENT
        assert grower.reads() == Heard("Stir B1", (), silent=True)
    emulator.post(f"/bot{emulator.token}/deleteWebhook", {})
