"""One suite over every channel that is found in bot/channels."""

from __future__ import annotations

import importlib
import pkgutil
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import msgspec
import pytest

import bot.channels
from bot.messages import Became, Incoming, Outgoing
from tests.contract.seam import Adapter, Fate, Opened, until
from tests.live.peers.sqlite_door import SqliteDoor

CHANNELS = sorted(found.name for found in pkgutil.iter_modules(bot.channels.__path__))
TERMINAL = {"terminal"}
"""Channels without a network; their own tests stand elsewhere."""


def opened_by(name: str) -> Opened:
    try:
        adapter = importlib.import_module(f"tests.contract.adapters.{name}")
    except ModuleNotFoundError:
        pytest.fail(f"the channel {name} has no adapter: write tests/contract/adapters/{name}.py")
    opened: Opened = adapter.opened
    return opened


@pytest.fixture
def door(tmp_path: Path) -> Iterator[SqliteDoor]:
    door = SqliteDoor(tmp_path / "door.sqlite")
    yield door
    door.close()


@pytest.fixture(params=[name for name in CHANNELS if name not in TERMINAL])
def adapter(request: pytest.FixtureRequest, door: SqliteDoor, tmp_path: Path) -> Iterator[Adapter]:
    with opened_by(request.param)(door, tmp_path) as adapter:
        yield adapter


def note(text: str, *, key: str = "k1", address: str) -> Outgoing:
    return Outgoing(key=key, address=address, text=text)


@pytest.mark.parametrize("name", CHANNELS)
def test_a_channel_says_its_name_its_settings_and_how_to_open_it(name: str) -> None:
    module = importlib.import_module(f"bot.channels.{name}")
    assert name == module.NAME
    assert issubclass(module.SETTINGS, msgspec.Struct)
    assert callable(module.open_channel)


def test_a_message_is_kept_before_it_is_acknowledged(adapter: Adapter, door: SqliteDoor) -> None:
    before: list[int] = []
    door.before = lambda: before.append(adapter.acknowledged())
    adapter.arrives("leaf spray 3 tanks of 16 litres")
    assert until(lambda: adapter.acknowledged() == 1)
    assert before == [0]
    assert door.texts() == ["leaf spray 3 tanks of 16 litres"]
    assert door.arrived[0].channel == adapter.channel.name
    assert door.arrived[0].raw
    assert door.arrived[0].sent_at.tzinfo is not None


def test_a_message_that_could_not_be_kept_is_not_acknowledged_and_comes_again(
    adapter: Adapter, door: SqliteDoor
) -> None:
    def away(_: Incoming) -> None:
        raise OSError("the database is away")

    door.refuses = away
    adapter.arrives("stirred")
    assert until(lambda: door.tried >= 1)
    assert adapter.acknowledged() == 0
    assert door.texts() == []
    door.refuses = None
    adapter.arrives_again()
    assert until(lambda: adapter.acknowledged() == 1)
    assert door.texts() == ["stirred"]


def test_a_message_that_comes_twice_is_kept_once(adapter: Adapter, door: SqliteDoor) -> None:
    adapter.arrives("used 150 l")
    assert until(lambda: adapter.acknowledged() == 1)
    adapter.arrives_again()
    assert until(lambda: door.tried == 2)
    assert door.texts() == ["used 150 l"]


def test_messages_are_kept_in_the_order_in_which_they_came(
    adapter: Adapter, door: SqliteDoor
) -> None:
    said = [f"used {litres} l" for litres in range(1, 21)]
    for text in said:
        adapter.arrives(text)
    assert until(lambda: len(door.texts()) == len(said))
    assert door.texts() == said


def test_any_script_arrives_as_it_was_written(adapter: Adapter, door: SqliteDoor) -> None:
    adapter.arrives("आज हिलाया")
    assert until(lambda: len(door.texts()) == 1)
    assert door.texts() == ["आज हिलाया"]


@pytest.mark.parametrize("fate", get_args(Fate))
def test_the_outcome_of_a_send_is_what_the_network_did(adapter: Adapter, fate: Fate) -> None:
    if not adapter.next_send(fate):
        return
    outcome = adapter.channel.send(
        note("Per tank: 4 L culture + 12 L water", address=adapter.address)
    )
    assert outcome.became.value == fate
    assert (outcome.became is Became.SENT) == (not outcome.cause)
    took = adapter.sent()
    if outcome.became is Became.SENT:
        assert took == [(adapter.address, "Per tank: 4 L culture + 12 L water")]
        assert outcome.outside_id
    elif outcome.became is not Became.UNKNOWN:
        assert took == []


def test_a_send_after_a_fault_goes_through(adapter: Adapter) -> None:
    adapter.next_send("later")
    adapter.channel.send(note("first", address=adapter.address))
    adapter.next_send("sent")
    again = adapter.channel.send(note("second", key="k2", address=adapter.address))
    assert again.became is Became.SENT
    assert (adapter.address, "second") in adapter.sent()


def test_sends_from_many_threads_all_arrive(adapter: Adapter) -> None:
    adapter.next_send("sent")
    keys = [f"k{number}" for number in range(8)]
    became: list[Became] = []

    def one(key: str) -> None:
        outgoing = note(f"stir {key}", key=key, address=adapter.address)
        became.append(adapter.channel.send(outgoing).became)

    threads = [threading.Thread(target=one, args=(key,)) for key in keys]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert became == [Became.SENT] * 8
    assert sorted(text for _, text in adapter.sent()) == sorted(f"stir {key}" for key in keys)


def test_closing_can_be_done_twice_and_loses_nothing(adapter: Adapter, door: SqliteDoor) -> None:
    adapter.arrives("ready")
    assert until(lambda: len(door.texts()) == 1)
    adapter.channel.close()
    adapter.channel.close()
    assert door.texts() == ["ready"]


def test_a_closed_channel_sends_nothing_and_says_later(adapter: Adapter) -> None:
    adapter.channel.close()
    outcome = adapter.channel.send(note("stir", address=adapter.address))
    assert outcome.became is Became.LATER
    assert adapter.sent() == []


def test_a_channel_says_how_it_carries_words_and_how_fast(adapter: Adapter) -> None:
    assert adapter.channel.manner.one_message >= 1
    assert adapter.channel.manner.alphabet in {"gsm7", "any"}
    assert adapter.channel.pace.at_once >= 1
