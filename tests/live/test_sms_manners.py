"""How the whole bot behaves on the real Kannel: machines, strangers' tricks, paging, STOP.

Behind Kannel stands a message centre that speaks SMPP. Every phone here is a thread of the test.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from bot.assembly import House, assemble
from bot.clock import system_now
from bot.records import tallies
from bot.wording.segments import gsm_codes
from tests.contract.seam import until
from tests.live.peers import pdus
from tests.live.peers.kannel import Kannel, free_port
from tests.live.peers.smpp_centre import SmppCentre

pytestmark = pytest.mark.live

ASHA, MACHINE, PREMIUM = "+254712345678", "+254712345699", "+449098790000"
SECRET = "s3cret-s3cret-s3cret"
AUTOMATIC = "I am driving. This is an automatic answer."


class Net:
    """The house on Kannel, with the carrier's phones before it."""

    def __init__(self, folder: Path) -> None:
        self.centre = SmppCentre()
        port = free_port()
        self.kannel = Kannel(
            folder / "kannel",
            port,
            **{
                "=SECRET&": f"={SECRET}&",
                "SMPP.CARRIER.EXAMPLE": "127.0.0.1",
                "port = 2775": f"port = {self.centre.port}",
            },
        )
        environ = {
            "STIRBELL_GATEWAY_PASSWORD": "pw",
            "STIRBELL_GATEWAY_SECRET": SECRET,
            "STIRBELL_GATEWAY_SEND_URL": self.kannel.send_url,
            "STIRBELL_GATEWAY_LISTEN": f"127.0.0.1:{port}",
            "STIRBELL_GATEWAY_PAGES": "1",
        }
        self.house: House = assemble(
            f"sqlite:///{folder / 'house.sqlite'}",
            now=system_now,
            environ=environ,
            names=("gateway",),
        )
        self.kannel.start()
        assert until(lambda: self.centre.bound >= 1, within_s=10), self.kannel.log()

    def close(self) -> None:
        self.house.close()
        self.kannel.stop()
        self.centre.close()

    def says(self, who: str, text: str) -> None:
        self.centre.says(who, "55555", gsm_codes(text), 0)

    def shown(self) -> list[str]:
        return pdus.messages([(one.header, one.text) for one in list(self.centre.got)])

    def steps_until(self, true: Callable[[], bool], within_s: float = 15) -> bool:
        def step() -> bool:
            self.house.engine.step(system_now())
            return true()

        return until(step, within_s=within_s)

    def answers(self, who: str, text: str) -> str:
        """What comes back for one message."""
        before = len(self.shown())
        self.says(who, text)
        assert self.steps_until(lambda: len(self.shown()) > before), self.kannel.log()
        return self.shown()[before]

    def counted(self, name: str) -> int:
        with self.house.store.reading() as tx:
            return tallies.all_of(tx).get(name, 0)


@pytest.fixture
def net(tmp_path: Path) -> Iterator[Net]:
    net = Net(tmp_path)
    yield net
    net.close()


def test_two_machines_do_not_talk_for_ever(net: Net) -> None:
    answered = 0

    def heard() -> bool:
        return len(net.shown()) > answered or bool(net.counted("machines_left_alone"))

    for _ in range(10):
        net.says(MACHINE, AUTOMATIC)
        assert net.steps_until(heard), net.kannel.log()
        answered = len(net.shown())
    assert answered == 3
    assert net.steps_until(lambda: net.counted("machines_left_alone") == 7)
    assert net.answers(ASHA, "my barrels")


def test_a_costly_number_is_never_answered(net: Net) -> None:
    net.says(PREMIUM, "my barrels")
    net.says("55599", "my barrels")
    assert "barrel" in net.answers(ASHA, "my barrels")
    assert {one.to.lstrip("+") for one in net.centre.got} == {ASHA.lstrip("+")}


def test_a_newcomer_hears_what_was_guessed_and_pages_with_more(net: Net) -> None:
    first = net.answers(ASHA, "started 200 l barrel")
    pages = [first]
    while pages[-1].endswith("More: send MORE"):
        pages.append(net.answers(ASHA, "MORE"))
        assert len(pages) < 9
    assert len(pages) > 1
    assert "Kenya" in " ".join(pages)
    assert "200 L" in pages[0]


def test_stop_is_confirmed_once_and_nothing_follows_it(net: Net) -> None:
    net.answers(ASHA, "started 200 l barrel")
    assert "START" in net.answers(ASHA, "ARRET")
    before = len(net.shown())
    for word in ("STOP", "my barrels", "leaf spray 3 tanks of 16 l"):
        net.says(ASHA, word)
    assert "barrel" in net.answers(MACHINE, "my barrels")
    assert len(net.shown()) == before + 1
    assert "Welcome back" in net.answers(ASHA, "Start")


def test_deletion_wants_the_number_that_was_sent_to_the_phone_itself(net: Net) -> None:
    net.answers(ASHA, "my name is Asha")
    asked = net.answers(ASHA, "delete me")
    [code] = re.findall(r"\b\d{4}\b", asked)
    assert "deleted" not in net.answers(ASHA, "yes")
    asked = net.answers(ASHA, "delete me")
    [code] = re.findall(r"\b\d{4}\b", asked)
    wrong = f"{(int(code) + 1) % 10_000:04}"
    assert "tries are left" in net.answers(ASHA, wrong)
    assert "are deleted" in net.answers(ASHA, code)


def test_one_phone_carries_words_for_somebody_who_has_none(net: Net) -> None:
    net.answers(ASHA, "my name is Asha")
    net.answers(ASHA, "found group Sunrise")
    assert "Add juma" in net.answers(ASHA, "for juma: started 100 l barrel")
    net.answers(ASHA, "YES")
    assert "B1" in net.answers(ASHA, "for juma: stirred b1")
