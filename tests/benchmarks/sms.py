"""Messages a second through the gateway, as a ratio to the gateway's own floor in the same run.

Run: python tests/benchmarks/sms.py [messages]   (from the repository's top; needs kannel)
Everything is on loopback and bounded. A message goes from the fake carrier through both boxes to
an HTTP listener, and its answer back through sendsms to the carrier. What listens is, in turn:

floor     keeps nothing, thinks nothing, sends a fixed answer: what the gateway itself can do
channel   our channel with a durable inbox and a fixed answer: what "200 after the commit" costs
bot       the whole house: kept, read, answered from the group's record, worded, queued, sent

and beside them how many commits a second this disk makes, one after the other: "kept before 200"
waits for the disk, and the floor does not.
"""

from __future__ import annotations

import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import httpx

sys.path.insert(0, str(Path(__file__).parents[2]))

from bot.assembly import assemble
from bot.channels import gateway
from bot.channels.gateway.options import Options
from bot.clock import system_now
from bot.messages import Incoming, Outgoing
from bot.wording.segments import segments
from tests.live.peers.carrier import Carrier
from tests.live.peers.http_peer import Answer, Asked, HttpPeer
from tests.live.peers.installed import command
from tests.live.peers.kannel import Kannel, free_port
from tests.live.peers.sqlite_door import SqliteDoor

SECRET = "s3cret-s3cret-s3cret"
SENDERS = 20
MOST = 5000
ANSWER = "Per tank: 160 ml culture + 15.84 L water. 3 tanks: 480 ml + 47.52 L. 48 L in all."
REPEATS = 3

FAKE = """group = smsc
smsc = fake
smsc-id = FAKE
port = {port}
our-host = 127.0.0.1
connect-allow-ip = 127.0.0.1
"""


class Bench:
    """One Kannel with the fake carrier before it; the bot's place is free."""

    def __init__(self, folder: Path) -> None:
        self.bot_port, carrier_port = free_port(), free_port()
        self.kannel = Kannel(
            folder / "kannel",
            self.bot_port,
            FAKE.format(port=carrier_port),
            **{"=SECRET&": f"={SECRET}&"},
        )
        self.kannel.start()
        self.carrier = Carrier(carrier_port)

    def close(self) -> None:
        self.carrier.close()
        self.kannel.stop()

    def options(self) -> Options:
        return gateway.SETTINGS(
            "pw",
            SECRET,
            send_url=self.kannel.send_url,
            listen=f"127.0.0.1:{self.bot_port}",
            reports=False,
        )

    def rate(self, messages: int, answers: int, work: Callable[[], None]) -> float:
        """Messages a second from the first in to the last answer out; `work` is done meanwhile."""
        before = len(self.carrier.got)
        begun = time.perf_counter()
        for number in range(messages):
            self.carrier.says(sender(number), "55555", question(number))
        while len(self.carrier.got) < before + answers:
            work()
            if time.perf_counter() - begun > 120:
                raise SystemExit(f"sms: {len(self.carrier.got) - before} of {answers} came back")
        return messages / (time.perf_counter() - begun)


def question(number: int) -> str:
    """No two alike in a row from one number: that would be a machine's."""
    return f"leaf spray 3 tanks of {10 + number // SENDERS % 8} litres"


def sender(number: int) -> str:
    return f"+2547123456{number % SENDERS:02}"


def rest() -> None:
    time.sleep(0.001)


def floor(bench: Bench, messages: int) -> float:
    """The gateway's own: a listener that answers 200, and a client that posts."""
    client = httpx.Client(trust_env=False)
    with ThreadPoolExecutor(16) as pool:

        def post(to: str) -> None:
            headers = {
                "Content-Type": "text/plain; charset=UTF-8",
                "X-Kannel-Username": "bot",
                "X-Kannel-Password": "pw",
                "X-Kannel-To": to,
            }
            client.post(bench.kannel.send_url, content=ANSWER.encode(), headers=headers)

        def heard(asked: Asked) -> Answer:
            pool.submit(post, parse_qs(urlsplit(asked.target).query)["from"][0])
            return Answer()

        peer = HttpPeer(heard, port=bench.bot_port)
        try:
            bench.rate(SENDERS, SENDERS, rest)
            return max(bench.rate(messages, messages, rest) for _ in range(REPEATS))
        finally:
            peer.close()
            client.close()


def channel_alone(bench: Bench, messages: int, folder: Path) -> float:
    """Our channel: committed before 200, sent by several at once."""
    door = SqliteDoor(folder / "door.sqlite")
    channel = gateway.open_channel(bench.options(), door, system_now)
    with ThreadPoolExecutor(channel.pace.at_once) as pool:

        def answer(came: Incoming) -> None:
            pool.submit(channel.send, Outgoing(came.outside_id, came.address, ANSWER))

        door.refuses = answer
        try:
            bench.rate(SENDERS, SENDERS, rest)
            return max(bench.rate(messages, messages, rest) for _ in range(REPEATS))
        finally:
            channel.close()
            door.close()


def whole_bot(bench: Bench, messages: int, folder: Path) -> tuple[float, int]:
    """The house, stepped as fast as it goes; and how many SMS one answer takes."""
    options = bench.options()
    house = assemble(
        f"sqlite:///{folder / 'house.sqlite'}",
        now=system_now,
        environ={
            "STIRBELL_GATEWAY_PASSWORD": options.password,
            "STIRBELL_GATEWAY_SECRET": options.secret,
            "STIRBELL_GATEWAY_SEND_URL": options.send_url,
            "STIRBELL_GATEWAY_LISTEN": options.listen,
            "STIRBELL_GATEWAY_REPORTS": "false",
            # Twenty numbers ask as hundreds would.
            "STIRBELL_GATEWAY_ANSWERS_AN_HOUR": "0",
        },
        names=("gateway",),
        newcomer=lambda _incoming: {"language": "en", "zone": "Africa/Nairobi"},
    )

    def step() -> None:
        house.engine.step(system_now())

    try:
        bench.rate(SENDERS, SENDERS, step)
        settled = system_now() + timedelta(seconds=2)
        while system_now() < settled:
            step()
        answer = bench.carrier.got[-1].body.decode("utf-8", "replace")
        parts = segments(answer)
        return max(bench.rate(messages, messages * parts, step) for _ in range(REPEATS)), parts
    finally:
        house.close()


def commits(folder: Path, count: int = 200) -> float:
    """Durable commits a second, one after the other, of the same database."""
    base = sqlite3.connect(folder / "disk.sqlite", isolation_level=None)
    base.execute("pragma journal_mode = wal")
    base.execute("pragma synchronous = full")
    base.execute("create table line (text text)")
    begun = time.perf_counter()
    for _ in range(count):
        base.execute("insert into line values ('stirred')")
    rate = count / (time.perf_counter() - begun)
    base.close()
    return rate


def main(words: list[str]) -> int:
    messages = min(MOST, int(words[0])) if words else 300
    if command("bearerbox") is None:
        sys.stderr.write("sms: NOT RUN: needs kannel and kannel-extras\n")
        return 1
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        bench = Bench(folder)
        try:
            lowest = floor(bench, messages)
            alone = channel_alone(bench, messages, folder)
            bot, parts = whole_bot(bench, messages, folder)
            disk = commits(folder)
        finally:
            bench.close()
    sys.stdout.write(f"{messages} messages, best of {REPEATS}; an answer is {parts} SMS\n")
    sys.stdout.write(f"disk     {disk:7.0f} commits/s\n")
    for name, rate in (("floor", lowest), ("channel", alone), ("bot", bot)):
        sys.stdout.write(f"{name:8} {rate:7.0f} messages/s   {rate / lowest:5.2f} of the floor\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
