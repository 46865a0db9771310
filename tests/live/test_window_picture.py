"""The picture of a batch's window and replies: over Telegram with its words, over SMS never."""

from __future__ import annotations

import io
import json
import random
from collections.abc import Callable, Mapping
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import pytest
from PIL import Image
from sqlalchemy import select

from bot.assembly import House, assemble
from bot.chat import ChatClock
from bot.records.tables import inbox, outbox
from bot.wording.canvas import FILLS
from tests.contract.seam import until
from tests.live.peers.http_peer import Answer, HttpPeer, call
from tests.live.peers.telegram_emulator import Emulator, Heard, missing

pytestmark = pytest.mark.live

START = datetime(2026, 3, 2, 9, tzinfo=UTC)
TURNS = ("started 200 l barrel", "@ +6d", "not yet", "why")


@dataclass
class Route:
    """One way to the bot, with a clock that is moved by hand."""

    house: House
    clock: ChatClock
    says: Callable[[str], None]

    def plays(self) -> None:
        for line in TURNS:
            if line.startswith("@"):
                self._step_to(self.clock.target(line[1:].strip()))
                continue
            before = self._kept()
            self.says(line)
            assert until(partial(self._more_than, before)), line
            self.clock.tick()
            self._step_to(self.clock.now())

    def pictures(self) -> list[bytes | None]:
        with self.house.store.begin() as tx:
            return list(tx.execute(select(outbox.c.picture).order_by(outbox.c.id)).scalars())

    def _more_than(self, before: int) -> bool:
        return self._kept() > before

    def _kept(self) -> int:
        with self.house.store.begin() as tx:
            return len(tx.execute(select(inbox.c.id)).all())

    def _step_to(self, there: datetime) -> None:
        following = self.house.engine.step(self.clock.now())
        while following is not None and following <= there:
            self.clock.moved = following
            following = self.house.engine.step(following)
        self.clock.moved = there
        self.house.engine.step(there)


def _house(
    folder: Path, name: str, environ: Mapping[str, str], hold: ExitStack
) -> tuple[House, ChatClock]:
    clock = ChatClock(lambda: START, moved=START)
    chance = random.Random(7)
    house = assemble(
        f"sqlite:///{folder / 'house.sqlite'}",
        now=clock.now,
        environ=environ,
        names=(name,),
        new_id=lambda: f"{chance.getrandbits(64):016x}",
        newcomer=lambda _incoming: {"language": "en"},
    )
    hold.callback(house.close)
    return house, clock


def _colours(png: bytes) -> set[tuple[int, ...]]:
    image = Image.open(io.BytesIO(png))
    assert image.format == "PNG"
    return {colour for _, colour in image.convert("RGB").getcolors(1 << 24) or ()}  # type: ignore[misc]


def test_why_comes_with_its_picture_over_telegram(tmp_path: Path) -> None:
    if missing():
        pytest.skip(missing())
    with Emulator() as emulator, ExitStack() as hold:
        environ = {
            "STIRBELL_TELEGRAM_TOKEN": emulator.token,
            "STIRBELL_TELEGRAM_API": emulator.api,
        }
        house, clock = _house(tmp_path, "telegram", environ, hold)
        grower = emulator.person()

        def says(line: str) -> None:
            grower.sent_s = int(clock.now().timestamp()) + 1
            grower.types(line)

        route = Route(house, clock, says)
        route.plays()
        heard: list[Heard] = []
        while not (heard and "By custom" in heard[-1].text):
            heard.append(grower.reads())
    assert [bool(each.picture) for each in heard] == [False] * (len(heard) - 1) + [True]
    assert "look" in heard[-1].text
    assert heard[-1].picture == route.pictures()[-1]
    # The days to look are filled, so the picture is not an empty strip.
    fill = tuple(int(FILLS[0][n : n + 2], 16) for n in (1, 3, 5))
    assert fill in _colours(heard[-1].picture)


def test_no_picture_is_drawn_for_a_grower_on_sms(tmp_path: Path) -> None:
    peer = HttpPeer(lambda _: Answer(200, '{"id": "x7"}'))
    with ExitStack() as hold:
        hold.callback(peer.close)
        environ = {
            "STIRBELL_HTTP_SMS_SEND_URL": f"{peer.url}/messages",
            "STIRBELL_HTTP_SMS_SEND_AS": "json",
            "STIRBELL_HTTP_SMS_SEND_FIELDS": "to={to}&text={text}",
            "STIRBELL_HTTP_SMS_ANSWER_ID": "id",
            "STIRBELL_HTTP_SMS_LISTEN": "127.0.0.1:0",
            "STIRBELL_HTTP_SMS_CALL_AS": "json",
            "STIRBELL_HTTP_SMS_FROM_FIELD": "from",
            "STIRBELL_HTTP_SMS_TEXT_FIELD": "text",
            "STIRBELL_HTTP_SMS_ID_FIELD": "id",
            "STIRBELL_HTTP_SMS_SECRET": "s3cret-s3cret-s3cret",
            "STIRBELL_HTTP_SMS_SECRET_HEADER": "X-Secret",
        }
        house, clock = _house(tmp_path, "http_sms", environ, hold)
        port = house.channels["http_sms"].port  # type: ignore[attr-defined]
        number = iter(range(1, 100))

        def says(line: str) -> None:
            message = {"from": "+254712345678", "text": line, "id": str(next(number))}
            headers = {"Content-Type": "application/json", "X-Secret": "s3cret-s3cret-s3cret"}
            assert call(f"http://127.0.0.1:{port}/in", json.dumps(message).encode(), headers) == 200

        route = Route(house, clock, says)
        route.plays()
        pictures = route.pictures()
    said = [json.loads(each.body) for each in peer.took]
    assert any("By custom" in each["text"] for each in said)
    assert all(set(each) == {"to", "text"} for each in said)
    assert pictures
    assert not any(pictures)
