"""A Bot API server over real HTTP on loopback, for the faults that no emulator offers.

It keeps Telegram's rules that matter here: an update stays until an offset passes it, one long
poll at a time (the older one gets 409), 4,096 characters a text and 1,024 a caption, callbacks
answered, uploads as multipart. Everything it was sent and told is there to be looked at.
"""

from __future__ import annotations

import email.parser
import email.policy
import json
import threading
import time
import urllib.error
import urllib.parse
import urllib.request
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any, Self

TOKEN = "42:double"
BOT = {"id": 42, "is_bot": True, "first_name": "Stirbell", "username": "stir_bot"}

DONE = True

Json = dict[str, Any]


@dataclass(frozen=True)
class Fault:
    """What the next call of a method meets. `drop` closes the line, before or after taking it."""

    method: str
    code: int = 0
    description: str = ""
    parameters: Json = field(default_factory=dict)
    body: bytes | None = None
    drop: bool = False
    taken: bool = False
    late_s: float = 0.0


@dataclass(frozen=True)
class Sent:
    """One message the double took from the bot."""

    method: str
    address: str
    text: str
    buttons: tuple[tuple[str, ...], ...]
    silent: bool
    parameters: Json
    files: dict[str, bytes]


class Double:
    """Open it with `with`; `api` is what the channel is given as its server."""

    def __init__(self, token: str = TOKEN) -> None:
        self.token = token
        self.sent: list[Sent] = []
        self.calls: list[tuple[str, Json]] = []
        self.answered: list[str] = []
        self.unknown: set[str] = set()
        self.hook: Json = {}
        self.confirmed = 0
        self._waiting: list[Json] = []
        self._faults: list[Fault] = []
        self._number = 1000
        self._message = 0
        self._poll = 0
        self._ended = False
        self._news = threading.Condition()
        self._server = _Server(("127.0.0.1", 0), _Call)
        self._server.double = self
        self._thread = threading.Thread(target=self._server.serve_forever, args=(0.02,))

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        with self._news:
            self._ended = True
            self._news.notify_all()
        self._server.shutdown()
        self._server.server_close()
        self._thread.join()

    @property
    def api(self) -> str:
        return f"http://127.0.0.1:{self._server.server_address[1]}"

    # what people do

    def says(self, text: str | None, person: int = 7, **more: Any) -> Json:
        """A person types; `more` goes into the message, as `chat=` or `photo=`."""
        self._message += 1
        message: Json = {
            "message_id": self._message,
            "date": int(more.pop("date", 1_772_600_000)),
            "chat": more.pop("chat", {"id": person, "type": "private", "first_name": "A"}),
            "from": {
                "id": person,
                "is_bot": False,
                "first_name": "A",
                "last_name": "Grower",
                "language_code": "hi",
            },
            **more,
        }
        if text is not None:
            message["text"] = text
        return self.push({"message": message})

    def presses(self, data: str, person: int = 7) -> Json:
        """A person presses a button under a message."""
        chat = {"id": person, "type": "private", "first_name": "A"}
        return self.push(
            {
                "callback_query": {
                    "id": f"press{self._number}",
                    "from": {"id": person, "is_bot": False, "first_name": "A"},
                    "message": {"message_id": 1, "date": 1_772_600_000, "chat": chat},
                    "chat_instance": "1",
                    "data": data,
                }
            }
        )

    def becomes(self, status: str, before: str, chat: Json | None = None) -> Json:
        """The bot's own standing in a chat changes."""
        me = {"user": BOT}
        return self.push(
            {
                "my_chat_member": {
                    "chat": chat or {"id": 7, "type": "private", "first_name": "A"},
                    "from": {"id": 7, "is_bot": False, "first_name": "A"},
                    "date": 1_772_600_000,
                    "old_chat_member": _member(before, me),
                    "new_chat_member": _member(status, me),
                }
            }
        )

    def push(self, update: Json) -> Json:
        """Any update; a number is given where it has none."""
        with self._news:
            self._number += 1
            update = {"update_id": self._number, **update}
            self._waiting.append(update)
            self._news.notify_all()
        return update

    def push_unnumbered(self, update: object) -> None:
        """An update as no Telegram would send it; it goes out once and is forgotten."""
        with self._news:
            self._waiting.append({"update_id": 1 << 60, "as_it_is": update})
            self._news.notify_all()

    def another_sets_a_hook(self, url: str) -> None:
        """Some other program calls setWebhook, which ends a long poll."""
        with self._news:
            self.hook = {"url": url}
            self._poll += 1
            self._news.notify_all()

    def renumber(self, number: int) -> None:
        """Telegram numbers anew after a quiet week."""
        self._number = number

    def calls_hook(self, body: bytes, secret: str | None, url: str = "") -> int:
        """Post to the webhook as Telegram does; the code it answered."""
        request = urllib.request.Request(url or self.hook["url"], body)  # noqa: S310 - loopback
        request.add_header("Content-Type", "application/json")
        if secret is not None:
            request.add_header("X-Telegram-Bot-Api-Secret-Token", secret)
        try:
            with urllib.request.urlopen(request, timeout=10) as answer:  # noqa: S310 - loopback
                return int(answer.status)
        except urllib.error.HTTPError as refusal:
            refusal.close()
            return refusal.code

    # what goes wrong

    def meets(self, method: str, **what: Any) -> None:
        """The next call of the method meets this fault, once; in the order they are given."""
        self._faults.append(Fault(method, **what))

    def count(self, method: str) -> int:
        """How often a method was called."""
        return sum(1 for name, _ in self.calls if name == method)

    def waiting(self) -> int:
        """Updates not yet confirmed."""
        with self._news:
            return len(self._waiting)

    # what the server does

    def fault_for(self, method: str) -> Fault | None:
        with self._news:
            for fault in self._faults:
                if fault.method == method:
                    self._faults.remove(fault)
                    return fault
        return None

    def does(self, method: str, given: Json, files: dict[str, bytes]) -> tuple[int, Json]:
        """The code and the body that a call is answered with."""
        if method == "getUpdates":
            return self._updates(given)
        if method in {"sendMessage", "sendPhoto"}:
            return self._takes(method, given, files)
        if method == "answerCallbackQuery":
            self.answered.append(str(given["callback_query_id"]))
        elif method in {"setWebhook", "deleteWebhook"}:
            self.hook = given if method == "setWebhook" else {}
        elif method not in {"getMe", "setMyCommands"}:
            return _no(404, "Not Found")
        return _yes(BOT if method == "getMe" else DONE)

    def _takes(self, method: str, given: Json, files: dict[str, bytes]) -> tuple[int, Json]:
        address = str(given.get("chat_id"))
        text = str(given.get("text", given.get("caption", "")))
        if address in self.unknown:
            return _no(400, "Bad Request: chat not found")
        if method == "sendMessage" and not text:
            return _no(400, "Bad Request: message text is empty")
        if len(text) > (4096 if method == "sendMessage" else 1024):
            return _no(400, "Bad Request: message is too long")
        if method == "sendPhoto" and not files:
            return _no(400, "Bad Request: there is no photo in the request")
        self._message += 1
        rows = given.get("reply_markup", {}).get("keyboard", [])
        buttons = tuple(tuple(str(button["text"]) for button in row) for row in rows)
        silent = bool(given.get("disable_notification"))
        self.sent.append(Sent(method, address, text, buttons, silent, given, files))
        chat = {"id": int(address), "type": "private", "first_name": "A"}
        message: Json = {"message_id": self._message, "date": 1_772_600_000, "chat": chat}
        if method == "sendPhoto":
            size = {"file_id": "f", "file_unique_id": "u", "width": 1, "height": 1}
            return _yes({**message, "photo": [size], "caption": text})
        return _yes({**message, "text": text})

    def _updates(self, given: Json) -> tuple[int, Json]:
        end = time.monotonic() + float(given.get("timeout", 0))
        with self._news:
            if self.hook:
                return _no(409, "Conflict: can't use getUpdates method while webhook is active")
            self._poll += 1
            mine = self._poll
            self._news.notify_all()
            offset = int(given.get("offset", 0))
            self.confirmed += sum(1 for one in self._waiting if one["update_id"] < offset)
            self._waiting = [one for one in self._waiting if one["update_id"] >= offset]
            while not self._waiting and mine == self._poll and not self._ended:
                if not self._news.wait(end - time.monotonic()) and time.monotonic() >= end:
                    break
            if mine != self._poll:
                by = "setWebhook" if self.hook else "other getUpdates"
                return _no(409, f"Conflict: terminated by {by} request")
            batch = self._waiting[: int(given.get("limit", 100))]
            self._waiting = [one for one in self._waiting if "as_it_is" not in one]
        return _yes([one.get("as_it_is", one) for one in batch])


class _Server(ThreadingHTTPServer):
    daemon_threads = True
    block_on_close = False
    double: Double

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A caller that hangs up is part of the tests."""


class _Call(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    wbufsize = -1  # head and body in one piece: two pieces would meet a delayed ACK, 40 ms
    server: _Server

    def do_POST(self) -> None:
        double = self.server.double
        given, files = _parsed(self)
        _, whose, method = self.path.split("/", 2)
        double.calls.append((method, given))
        if whose != f"bot{double.token}":
            self._say(401, _no(401, "Unauthorized")[1])
            return
        fault = double.fault_for(method)
        if fault is None:
            self._say(*double.does(method, given, files))
            return
        done = double.does(method, given, files) if fault.taken else (200, {})
        time.sleep(fault.late_s)
        if fault.drop:
            self.close_connection = True
            self.connection.close()
        elif fault.body is not None:
            self._say(fault.code, fault.body)
        elif fault.code:
            self._say(fault.code, _no(fault.code, fault.description, fault.parameters)[1])
        else:
            self._say(*done)

    def _say(self, code: int, body: Json | bytes) -> None:
        payload = body if isinstance(body, bytes) else json.dumps(body).encode()
        self.send_response(code)
        self.send_header("Content-Type", "application/json")
        self.send_header("Content-Length", str(len(payload)))
        self.end_headers()
        self.wfile.write(payload)

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - the library's name
        """Quiet."""


def _parsed(call: BaseHTTPRequestHandler) -> tuple[Json, dict[str, bytes]]:
    body = call.rfile.read(int(call.headers.get("Content-Length", 0)))
    kind = call.headers.get("Content-Type", "")
    if not kind.startswith("multipart/"):
        pairs = urllib.parse.parse_qsl(body.decode(), keep_blank_values=True)
        return {name: _value(name, value) for name, value in pairs}, {}
    whole = b"Content-Type: " + kind.encode() + b"\r\n\r\n" + body
    parts = email.parser.BytesParser(policy=email.policy.HTTP).parsebytes(whole)
    given: Json = {}
    files: dict[str, bytes] = {}
    for part in parts.iter_parts():
        name = str(part.get_param("name", header="content-disposition"))
        content = part.get_payload(decode=True)
        assert isinstance(content, bytes)
        if part.get_filename():
            files[name] = content
        else:
            given[name] = _value(name, content.decode())
    return given, files


def _value(name: str, value: str) -> Any:
    if name in {"reply_markup", "link_preview_options", "commands", "allowed_updates"}:
        return json.loads(value)
    if value in {"true", "false", "True", "False"}:
        return value.lower() == "true"
    return value


def _member(status: str, me: Json) -> Json:
    return {"status": status, **me, **({"until_date": 0} if status == "kicked" else {})}


def _yes(result: object) -> tuple[int, Json]:
    return 200, {"ok": True, "result": result}


def _no(code: int, description: str, parameters: Json | None = None) -> tuple[int, Json]:
    body: Json = {"ok": False, "error_code": code, "description": description}
    return code, {**body, "parameters": parameters} if parameters else body
