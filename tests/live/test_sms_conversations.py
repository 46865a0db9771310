"""Seven whole conversations over both SMS routes side by side: the same files, the same words.

One grower's phone is on the real gammu-smsd with a simulated modem, the other on the real Kannel
with a message centre behind it. Each turn is answered alike on both, in plain letters and within
the SMS an answer may take.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import pytest
from sqlalchemy import func, select

from bot.assembly import House, assemble
from bot.chat import ChatClock
from bot.clock import instant
from bot.records.tables import inbox, outbox
from bot.wording.segments import gsm_codes, is_gsm, segments, split
from tests.contract.seam import until
from tests.conversations.chat_file import Script, read
from tests.live.peers import pdus
from tests.live.peers.atmodem import Modem
from tests.live.peers.kannel import Kannel, free_port
from tests.live.peers.smpp_centre import SmppCentre
from tests.live.peers.smsd import Smsd

pytestmark = [pytest.mark.live, pytest.mark.slow]

HERE = Path(__file__).parent.parent / "conversations" / "en"
NAMES = ("batch", "bad", "drench", "harvest", "rounds", "stop", "undo")
ASHA = "+254712345678"
SECRET = "s3cret-s3cret-s3cret"


@dataclass
class Route:
    """One way to the bot: how the grower writes, and what her phone shows."""

    house: House
    clock: ChatClock
    says: Callable[[str, datetime], None]
    shows: Callable[[], list[str]]
    log: Callable[[], str]

    def turn(self, line: str) -> list[str]:
        """What the phone shows after one line."""
        before = len(self.shows())
        if line.startswith("@"):
            self._step_to(self.clock.target(line[1:].strip()))
        else:
            kept = self._kept()
            self.says(line, self.clock.now())
            assert until(lambda: self._kept() > kept, within_s=20), self.log()
            self.clock.tick()
            self._step_to(self.clock.now())
        assert until(lambda: len(self.shows()) >= self._sent(), within_s=20), self.log()
        return self.shows()[before:]

    def _step_to(self, there: datetime) -> None:
        following = self.house.engine.step(self.clock.now())
        while following is not None and following <= there:
            self.clock.moved = following
            following = self.house.engine.step(following)
        self.clock.moved = there
        self.house.engine.step(there)

    def _kept(self) -> int:
        with self.house.store.begin() as tx:
            return int(tx.execute(select(func.count()).select_from(inbox)).scalar_one())

    def _sent(self) -> int:
        with self.house.store.begin() as tx:
            query = select(func.count()).select_from(outbox).where(outbox.c.status == "sent")
            return int(tx.execute(query).scalar_one())


def told(script: Script, route: Route) -> dict[int, list[str]]:
    return {number: route.turn(line) for number, line in script.turns}


def clock_of(script: Script) -> ChatClock:
    first = next(line[1:].strip() for _, line in script.turns if line.startswith("@ 2"))
    wall = datetime.fromisoformat(first)
    start = instant(wall.date(), wall.time(), "UTC")
    return ChatClock(lambda: start, moved=start)


def house_on(folder: Path, clock: ChatClock, name: str, environ: Mapping[str, str]) -> House:
    chance = random.Random(7)
    return assemble(
        f"sqlite:///{folder / 'house.sqlite'}",
        now=clock.now,
        environ=environ,
        names=(name,),
        new_id=lambda: f"{chance.getrandbits(64):016x}",
        newcomer=lambda _incoming: {"language": "en"},
    )


def over_the_modem(script: Script, folder: Path) -> dict[int, list[str]]:
    folder.mkdir()
    sim = Modem()
    smsd = Smsd(folder, sim)
    smsd.start()
    clock = clock_of(script)
    environ = {
        "STIRBELL_MODEM_DATABASE": smsd.address,
        "STIRBELL_MODEM_ZONE": "UTC",
        "STIRBELL_MODEM_POLL_S": "0.05",
    }
    house = house_on(folder, clock, "modem", environ)

    def says(text: str, at: datetime) -> None:
        parts = split(text)
        for number, part in enumerate(parts, 1):
            header = bytes([0, 3, 7, len(parts), number]) if len(parts) > 1 else b""
            sim.receive(pdus.deliver(ASHA, part, at, header, ucs2=not is_gsm(text)))

    def shows() -> list[str]:
        return pdus.messages([(one.header, one.text) for one in list(sim.sent)])

    try:
        return told(script, Route(house, clock, says, shows, smsd.log))
    finally:
        house.close()
        smsd.kill()
        sim.close()


def over_the_gateway(script: Script, folder: Path) -> dict[int, list[str]]:
    folder.mkdir()
    centre = SmppCentre()
    port = free_port()
    kannel = Kannel(
        folder / "kannel",
        port,
        **{
            "=SECRET&": f"={SECRET}&",
            "SMPP.CARRIER.EXAMPLE": "127.0.0.1",
            "port = 2775": f"port = {centre.port}",
        },
    )
    clock = clock_of(script)
    environ = {
        "STIRBELL_GATEWAY_PASSWORD": "pw",
        "STIRBELL_GATEWAY_SECRET": SECRET,
        "STIRBELL_GATEWAY_SEND_URL": kannel.send_url,
        "STIRBELL_GATEWAY_LISTEN": f"127.0.0.1:{port}",
    }
    house = house_on(folder, clock, "gateway", environ)

    def says(text: str, _at: datetime) -> None:
        assert is_gsm(text)
        for number, part in enumerate(parts := split(text), 1):
            header = bytes([0, 3, 7, len(parts), number]) if len(parts) > 1 else b""
            centre.says(ASHA, "55555", gsm_codes(part), 0, header)

    def shows() -> list[str]:
        return pdus.messages([(one.header, one.text) for one in list(centre.got)])

    try:
        kannel.start()
        assert until(lambda: centre.bound >= 1, within_s=10), kannel.log()
        return told(script, Route(house, clock, says, shows, kannel.log))
    finally:
        house.close()
        kannel.stop()
        centre.close()


@pytest.mark.parametrize("name", NAMES)
def test_the_conversation_goes_alike_over_the_modem_and_over_the_gateway(
    name: str, tmp_path: Path
) -> None:
    script = read(HERE / f"{name}.chat")
    gateway = over_the_gateway(script, tmp_path / "gateway")
    modem = over_the_modem(script, tmp_path / "modem")
    assert gateway == modem
    said = [text for texts in gateway.values() for text in texts]
    assert said
    assert all(is_gsm(text) for text in said), said
    assert max(segments(text) for text in said) <= 2, said
    lines = (HERE / f"{name}.chat").read_text(encoding="utf-8").splitlines()
    for number, _line in script.turns:
        assert bool(gateway[number]) is (lines[number : number + 1] or [""])[0].startswith("<")
