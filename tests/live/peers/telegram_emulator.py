"""The independent Telegram emulator, and a person who types into it and reads the answers.

    with Emulator() as emulator:
        ...  # open the channel with api=emulator.api, token=emulator.token
        grower = emulator.person()
        grower.types("leaf spray 3 tanks of 16 litres")
        grower.reads()  # the next answer: Heard(text, buttons, silent, picture)

It is an npm package, installed once into the user's cache with the npm client; the few lines
around it are telegram_emulator.js. `missing()` says why it cannot run here.
"""

from __future__ import annotations

import base64
import contextlib
import json
import shutil
import subprocess
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Self

import httpx

PACKAGE = "telegram-test-api"
VERSION = "4.2.1"
TOKEN = "666:emulated"
WRAPPER = Path(__file__).with_suffix(".js")


@dataclass(frozen=True)
class Heard:
    """One message that the bot sent."""

    text: str
    buttons: tuple[str, ...] = ()
    silent: bool = False
    picture: bytes = b""


def missing() -> str:
    """Why the emulator cannot run on this machine, or nothing."""
    for tool in ("node", "npm"):
        if shutil.which(tool) is None:
            return (
                f"{tool} is not installed: the Telegram emulator runs on node (Debian: nodejs npm)"
            )
    return ""


def installed() -> Path:
    """The folder that holds the package; installed on first use.

    Raises:
        RuntimeError: npm could not install it; its last words.
    """
    home = Path.home() / ".cache" / "stirbell" / f"{PACKAGE}-{VERSION}"
    modules = home / "node_modules"
    if (modules / PACKAGE / "package.json").exists():
        return modules
    home.parent.mkdir(parents=True, exist_ok=True)
    quiet = ["--no-audit", "--no-fund", "--no-save", "--ignore-scripts", "--loglevel=error"]
    # Into a folder of its own and then moved, so that two runs at once do not meet.
    with tempfile.TemporaryDirectory(dir=home.parent) as new:
        done = subprocess.run(
            ["npm", "install", "--prefix", new, *quiet, f"{PACKAGE}@{VERSION}"],
            capture_output=True,
            text=True,
            timeout=300,
            check=False,
        )
        if done.returncode:
            raise RuntimeError(f"npm could not install {PACKAGE}: {done.stderr.strip()[-300:]}")
        home.mkdir(exist_ok=True)
        with contextlib.suppress(OSError):  # another run was first
            (Path(new) / "node_modules").rename(modules)
    return modules


class Emulator:
    """The emulator in a process of its own, on a port of its own."""

    def __init__(self, token: str = TOKEN) -> None:
        self.token = token
        self.api = ""

    def __enter__(self) -> Self:
        modules = installed()
        self._process = subprocess.Popen(
            ["env", f"NODE_PATH={modules}", "node", str(WRAPPER)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert self._process.stdout is not None
        port = self._process.stdout.readline().strip()
        if not port.isdecimal():
            self.__exit__()
            raise RuntimeError("the Telegram emulator did not start; its words are above")
        self.api = f"http://127.0.0.1:{port}"
        self._http = httpx.Client(base_url=self.api, trust_env=False, timeout=10)
        return self

    def __exit__(self, *_: object) -> None:
        if self.api:
            self._http.close()
        self._process.kill()
        self._process.communicate()

    def person(self, number: int = 1, name: str = "Grower", language: str = "en") -> Person:
        """Somebody with a phone of their own."""
        return Person(self, number, name, language)

    def hook(self) -> str:
        """Where updates are posted to; empty while they are asked for."""
        return str(self.post(f"/bot{self.token}/getWebhookInfo", {})["url"])

    def post(self, path: str, body: dict[str, Any]) -> Any:
        """One call of the emulator's own client routes."""
        answer = self._http.post(path, json=body)
        answer.raise_for_status()
        return answer.json()["result"]


@dataclass
class Person:
    """Types as one user and reads what the bot answers to that user."""

    emulator: Emulator
    number: int
    name: str
    language: str
    sent_s: int = 0
    """When what is typed next was sent, seconds since 1970; 0: some moment that goes on."""
    _unread: list[Heard] = field(default_factory=list)

    def types(self, text: str) -> None:
        """Send a line; one that begins with / is a command."""
        said = {"text": text}
        if text.startswith("/"):
            entity = {"type": "bot_command", "offset": 0, "length": len(text.split(maxsplit=1)[0])}
            self._say("/sendCommand", {**said, "entities": [entity]})
        else:
            self._say("/sendMessage", said)

    def shares_place(self, latitude: float, longitude: float) -> None:
        """Send a place, as the phone's own button does."""
        self._say("/sendMessage", {"location": {"latitude": latitude, "longitude": longitude}})

    def presses(self, data: str) -> None:
        """Press a button under a message."""
        message = {"chat": self._chat, "from": self._sender}
        self.emulator.post(
            "/sendCallback", {**self._meta, "from": self._sender, "message": message, "data": data}
        )

    def reads(self, *, within_s: float = 10.0) -> Heard:
        """The bot's next message to this person.

        Raises:
            AssertionError: it said nothing in time.
        """
        end = time.monotonic() + within_s
        while not self._unread:
            self._fetch()
            if not self._unread:
                assert time.monotonic() < end, f"nothing was said within {within_s:.0f} s"
                time.sleep(0.01)
        return self._unread.pop(0)

    def has_news(self) -> bool:
        """Whether there is something to read now."""
        self._fetch()
        return bool(self._unread)

    @property
    def _meta(self) -> dict[str, Any]:
        sent_s = self.sent_s or int(time.monotonic()) + 1_772_600_000
        return {"botToken": self.emulator.token, "date": sent_s}

    @property
    def _chat(self) -> dict[str, Any]:
        return {"id": self.number, "type": "private", "first_name": self.name}

    @property
    def _sender(self) -> dict[str, Any]:
        return {
            "id": self.number,
            "is_bot": False,
            "first_name": self.name,
            "language_code": self.language,
        }

    def _say(self, path: str, content: dict[str, Any]) -> None:
        self.emulator.post(
            path, {**self._meta, "from": self._sender, "chat": self._chat, **content}
        )

    def _fetch(self) -> None:
        asked = {"token": self.emulator.token, "chatId": self.number}
        for row in self.emulator.post("/getUpdates", asked):
            self._unread.append(_heard(row["message"]))


def _heard(message: dict[str, Any]) -> Heard:
    markup = message.get("reply_markup") or {}
    if isinstance(markup, str):
        markup = json.loads(markup)
    buttons = tuple(str(key["text"]) for row in markup.get("keyboard", []) for key in row)
    silent = str(message.get("disable_notification", "")).lower() == "true"
    text = str(message.get("text") or message.get("caption") or "")
    return Heard(text, buttons, silent, base64.b64decode(message.get("photo", "")))
