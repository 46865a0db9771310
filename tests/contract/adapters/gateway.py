"""The gateway, on a stand-in for Kannel, for the suite over every channel."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlencode

from bot.channels import gateway
from bot.clock import system_now
from tests.contract.seam import Fate
from tests.live.peers.http_peer import Answer, HttpPeer, call
from tests.live.peers.sqlite_door import SqliteDoor

ANSWERS = {
    "sent": Answer(202, "0: Accepted for delivery"),
    "refused": Answer(400, "Number(s) has/have been denied by white- and/or black-lists."),
    "later": Answer(503, "Temporal failure, try again later."),
    "unknown": Answer(drop=True),
}

SECRET = "s3cret-s3cret-s3cret"


@dataclass
class OnDouble:
    """Kannel calls again until it hears 200."""

    peer: HttpPeer
    channel: gateway.Gateway
    address: str = "+919876543210"
    accepted: int = 0
    number: int = 0
    last: dict[str, str] = field(default_factory=dict)

    def arrives(self, text: str) -> None:
        self.number += 1
        self.last = {
            "secret": SECRET,
            "from": self.address,
            "text": text,
            "coding": "0",
            "charset": "UTF-8",
            "id": f"id-{self.number}",
            "at": "1772434800",
        }
        self.arrives_again()

    def arrives_again(self) -> None:
        status = call(f"http://127.0.0.1:{self.channel.port}/in?{urlencode(self.last)}")
        self.accepted += status == 200

    def acknowledged(self) -> int:
        return self.accepted

    def next_send(self, fate: Fate) -> bool:
        self.peer.answers = lambda _: ANSWERS[fate]
        return True

    def sent(self) -> list[tuple[str, str]]:
        return [(one.headers["x-kannel-to"], one.body.decode()) for one in self.peer.took]


@contextmanager
def opened(door: SqliteDoor, folder: Path) -> Iterator[OnDouble]:
    del folder
    peer = HttpPeer(lambda _: ANSWERS["sent"])
    options = gateway.SETTINGS(
        "pw", SECRET, send_url=f"{peer.url}/cgi-bin/sendsms", listen="127.0.0.1:0"
    )
    channel = gateway.open_channel(options, door, system_now)
    try:
        yield OnDouble(peer, channel)
    finally:
        channel.close()
        peer.close()
