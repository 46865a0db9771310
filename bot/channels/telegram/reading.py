"""One raw update in, what it says out. Pure: no network, no clock."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from telegram import Bot, CallbackQuery, Chat, ChatMemberUpdated, Message, Update, User
from telegram.constants import ChatMemberStatus, ChatType
from telegram.ext.filters import StatusUpdate

from bot.channels.telegram.options import NAME
from bot.messages import Incoming

_COMMAND = re.compile(r"/([a-z]\w{0,31})(?:@(\w+))?(?:\s+|$)", re.ASCII | re.IGNORECASE)
_UNSTORABLE = re.compile("[\x00\ud800-\udfff]")
_GONE = frozenset({ChatMemberStatus.BANNED, ChatMemberStatus.LEFT})


@dataclass(frozen=True, slots=True)
class Me:
    """The bot itself: its number, and the name by which a group calls it."""

    bot_id: int
    username: str


@dataclass(frozen=True, slots=True)
class Moved:
    """A group that has a new address."""

    address: str
    new_address: str


@dataclass(frozen=True, slots=True)
class Read:
    """What one update comes to: a message to keep, a move, or neither; and a press to answer."""

    kept: Incoming | Moved | None = None
    callback_id: str = ""


def outside_id(raw: object, me: Me) -> str:
    """The id under which an update is kept once: the bot's and the update's.

    The bot's is part of it so that a new token on the same database begins anew. An update
    without a number of its own goes by what is in it.

    >>> outside_id({"update_id": 7}, Me(42, "stir_bot"))
    '42:7'
    """
    number = raw.get("update_id") if isinstance(raw, Mapping) else None
    if isinstance(number, int):
        return f"{me.bot_id}:{number}"
    return f"{me.bot_id}:{hashlib.sha256(whole(raw).encode()).hexdigest()[:24]}"


def whole(raw: object) -> str:
    """The update as text that any database can hold."""
    return json.dumps(raw, sort_keys=True)


def read(raw: object, bot: Bot | None, me: Me, now: datetime) -> Read:
    """What an update says; `now` (UTC) stands in where it has no time of its own.

    What cannot be read comes back as a message with its `fault` and the raw update.
    """
    try:
        return _read(raw, bot, me, now)
    except Exception as fault:  # noqa: BLE001 - whatever is wrong with one, the rest must go on
        return Read(unread(raw, me, now, f"{type(fault).__name__}: {fault}"))


def unread(raw: object, me: Me, now: datetime, fault: str) -> Incoming:
    """An update kept for an operator: nothing read from it but, where it is there, the chat."""
    return Incoming(
        channel=NAME,
        outside_id=outside_id(raw, me),
        address=_chat_in(raw),
        text="",
        sent_at=now,
        fault=_storable(fault)[:500],
        raw=whole(raw),
    )


def _chat_in(raw: object) -> str:
    """The person's chat, whose ids are above nought; a group may not have spoken to the bot."""
    at = raw
    for step in ("message", "chat", "id"):
        at = at.get(step) if isinstance(at, Mapping) else None
    return str(at) if isinstance(at, int) and at > 0 else ""


def _read(raw: object, bot: Bot | None, me: Me, now: datetime) -> Read:
    if not isinstance(raw, dict) or not isinstance(raw.get("update_id"), int):
        raise TypeError("an update without an update_id")
    update = Update.de_json(raw, bot)
    said = {"channel": NAME, "outside_id": outside_id(raw, me), "raw": whole(raw)}
    if update.message is not None:
        return Read(_message(update, update.message, me, said))
    if update.callback_query is not None:
        return Read(_press(update.callback_query, now, said), update.callback_query.id)
    if update.my_chat_member is not None:
        return Read(_membership(update.my_chat_member, said))
    return Read()


def _message(
    update: Update, message: Message, me: Me, said: Mapping[str, Any]
) -> Incoming | Moved | None:
    here = str(message.chat.id)
    if message.migrate_to_chat_id is not None:
        return Moved(here, str(message.migrate_to_chat_id))
    if message.migrate_from_chat_id is not None:
        return Moved(str(message.migrate_from_chat_id), here)
    if StatusUpdate.ALL.check_update(update):
        return None
    sender = message.from_user
    if sender is not None and sender.is_bot and message.sender_chat is None:
        return None
    board = message.chat.type != ChatType.PRIVATE
    text, called = _plain(message.text or message.caption or "", me)
    if board and not (called or _replies_to_me(message, me)):
        return None
    place = message.location
    return Incoming(
        address=here,
        text=_storable(text),
        sent_at=message.date,
        name=_name(message.chat, sender),
        language_hint=_language(sender),
        place=(place.latitude, place.longitude) if place else None,
        noticeboard=board,
        **said,
    )


def _press(query: CallbackQuery, now: datetime, said: Mapping[str, Any]) -> Incoming:
    chat = query.message.chat if query.message else None
    return Incoming(
        address=str(chat.id if chat else query.from_user.id),
        text=_storable(query.data or ""),
        sent_at=now,
        name=_name(chat, query.from_user),
        language_hint=_language(query.from_user),
        noticeboard=chat is not None and chat.type != ChatType.PRIVATE,
        **said,
    )


def _membership(change: ChatMemberUpdated, said: Mapping[str, Any]) -> Incoming | None:
    gone = change.new_chat_member.status in _GONE
    if gone == (change.old_chat_member.status in _GONE):
        return None
    return Incoming(
        address=str(change.chat.id),
        text="",
        sent_at=change.date,
        name=_name(change.chat, change.from_user),
        language_hint=_language(change.from_user),
        noticeboard=change.chat.type != ChatType.PRIVATE,
        reachable=not gone,
        **said,
    )


def _plain(text: str, me: Me) -> tuple[str, bool]:
    """The words without what only Telegram needs, and whether they call this bot.

    A command is its words: `/my_barrels` is "my barrels". What stands behind a link with
    `?start=` is what the person would have typed: `/start join_K7QM2` is "join K7QM2".
    """
    command = _COMMAND.match(text)
    mention = re.compile(rf"@{re.escape(me.username)}\b", re.IGNORECASE)
    if command is None:
        bare, count = mention.subn(" ", text)
        return (" ".join(bare.split(" ")).strip() if count else text), count > 0
    name, whom = command.group(1), command.group(2)
    rest = text[command.end() :].strip()
    if name.lower() == "start" and rest:
        words = rest.replace("_", " ")
    else:
        words = f"{name.replace('_', ' ')} {rest}"
    called = whom is None or whom.lower() == me.username.lower()
    return mention.sub(" ", words).strip(), called


def _replies_to_me(message: Message, me: Me) -> bool:
    before = message.reply_to_message
    return bool(before and before.from_user and before.from_user.id == me.bot_id)


def _name(chat: Chat | None, sender: User | None) -> str:
    if chat is not None and chat.type != ChatType.PRIVATE:
        return _storable(chat.title or "")
    return _storable(sender.full_name) if sender else ""


def _language(sender: User | None) -> str:
    return (sender.language_code or "") if sender else ""


def _storable(text: str) -> str:
    return _UNSTORABLE.sub("\ufffd", text)
