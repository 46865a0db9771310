"""A hosted SMS service of no name, described by settings, for the suite over every channel."""

from __future__ import annotations

import hashlib
import hmac
import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from bot.channels import http_sms
from bot.clock import system_now
from tests.contract.seam import Fate
from tests.live.peers.http_peer import Answer, HttpPeer, call
from tests.live.peers.sqlite_door import SqliteDoor

ANSWERS = {
    "sent": Answer(201, '{"results": [{"state": "queued", "id": "x7"}]}'),
    "refused": Answer(422, '{"error": "no such number"}'),
    "later": Answer(429, "", {"Retry-After": "3"}),
    "unknown": Answer(drop=True),
}

SECRET = "s3cret-s3cret-s3cret"


@dataclass
class OnDouble:
    """The service calls again until it hears 200."""

    peer: HttpPeer
    channel: http_sms.HttpSms
    address: str = "+919876543210"
    accepted: int = 0
    number: int = 0
    last: bytes = b""

    def arrives(self, text: str) -> None:
        self.number += 1
        message = {"sender": self.address, "body": text, "uid": self.number}
        self.last = json.dumps({"data": message}).encode()
        self.arrives_again()

    def arrives_again(self) -> None:
        signed = hmac.new(SECRET.encode(), self.last, hashlib.sha256).hexdigest()
        headers = {"Content-Type": "application/json", "X-Signature": f"sha256={signed}"}
        status = call(f"http://127.0.0.1:{self.channel.port}/in", self.last, headers)
        self.accepted += status == 200

    def acknowledged(self) -> int:
        return self.accepted

    def next_send(self, fate: Fate) -> bool:
        self.peer.answers = lambda _: ANSWERS[fate]
        return True

    def sent(self) -> list[tuple[str, str]]:
        messages = [json.loads(one.body)["messages"][0] for one in self.peer.took]
        return [(one["to"], one["content"]["text"]) for one in messages]


@contextmanager
def opened(door: SqliteDoor, folder: Path) -> Iterator[OnDouble]:
    del folder
    peer = HttpPeer(lambda _: ANSWERS["sent"])
    options = http_sms.SETTINGS(
        f"{peer.url}/v1/messages",
        send_as="json",
        send_fields="messages.0.to={to}&messages.0.content.text={text}",
        send_headers="Authorization=Bearer {token}",
        token="t0ken",
        accepted_answer="results.0.state=queued,accepted",
        answer_id="results.0.id",
        listen="127.0.0.1:0",
        call_as="json",
        from_field="data.sender",
        text_field="data.body",
        id_field="data.uid",
        secret=SECRET,
        signature_header="X-Signature",
        signature_prefix="sha256=",
    )
    channel = http_sms.open_channel(options, door, system_now)
    try:
        yield OnDouble(peer, channel)
    finally:
        channel.close()
        peer.close()
