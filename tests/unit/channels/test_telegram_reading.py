from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.channels.telegram.reading import Me, Moved, Read, outside_id, read
from bot.messages import Incoming

ME = Me(42, "stir_bot")
NOW = datetime(2026, 3, 4, 6, 0, tzinfo=UTC)
SENT_AT = datetime(2026, 3, 4, 5, 59, tzinfo=UTC)
PERSON = {"id": 7, "type": "private", "first_name": "A"}
GROUP = {"id": -100200, "type": "supergroup", "title": "North terraces"}
SENDER = {
    "id": 7,
    "is_bot": False,
    "first_name": "A",
    "last_name": "Grower",
    "language_code": "pt-br",
}


def message(text: str | None = None, chat: dict[str, Any] = PERSON, **more: Any) -> dict[str, Any]:
    said = {"message_id": 1, "date": int(SENT_AT.timestamp()), "chat": chat, "from": SENDER, **more}
    return {"update_id": 9, "message": said | ({} if text is None else {"text": text})}


def heard(raw: object) -> Incoming:
    kept = read(raw, None, ME, NOW).kept
    assert isinstance(kept, Incoming)
    return kept


def test_a_plain_sentence_comes_with_who_when_and_the_whole_update() -> None:
    raw = message("leaf spray 3 tanks of 16 litres")
    got = heard(raw)
    assert got == Incoming(
        channel="telegram",
        outside_id="42:9",
        address="7",
        text="leaf spray 3 tanks of 16 litres",
        sent_at=SENT_AT,
        name="A Grower",
        language_hint="pt-br",
        raw=got.raw,
    )
    assert json.loads(got.raw) == raw


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("/start", "start"),
        ("/start join_K7QM2", "join K7QM2"),
        ("/START join_K7QM2", "join K7QM2"),
        ("/start B1", "B1"),
        ("/today", "today"),
        ("/my_barrels", "my barrels"),
        ("/stirred B1 B2", "stirred B1 B2"),
        ("/stirred@stir_bot B1", "stirred B1"),
        ("/used 150 l\nand kept 20", "used 150 l\nand kept 20"),
        ("/12", "/12"),
        ("1/2 acre", "1/2 acre"),
        ("@stir_bot leaf spray 3 tanks", "leaf spray 3 tanks"),
        ("write to me@stir_bottle", "write to me@stir_bottle"),
    ],
)
def test_a_command_is_its_words_and_a_link_what_one_would_have_typed(typed: str, text: str) -> None:
    assert heard(message(typed)).text == text


def test_a_shared_place_comes_as_a_place() -> None:
    got = heard(message(location={"latitude": -1.28, "longitude": 36.82}))
    assert got.place == (-1.28, 36.82)
    assert got.text == ""


PHOTO = [{"file_id": "f", "file_unique_id": "u", "width": 1, "height": 1}]
VOICE = {"file_id": "f", "file_unique_id": "u", "duration": 3}
STICKER = {
    "file_id": "f",
    "file_unique_id": "u",
    "width": 1,
    "height": 1,
    "is_animated": False,
    "is_video": False,
    "type": "regular",
}


@pytest.mark.parametrize(
    "content",
    [{"photo": PHOTO}, {"voice": VOICE}, {"sticker": STICKER}, {"something_new": {"a": 1}}],
)
def test_what_has_no_words_still_arrives_so_that_it_is_answered(content: dict[str, Any]) -> None:
    got = heard(message(**content))
    assert (got.text, got.address, got.fault) == ("", "7", "")


def test_the_words_under_a_photo_are_its_text() -> None:
    assert heard(message(photo=PHOTO, caption="b2 smells bad")).text == "b2 smells bad"


def test_a_pressed_button_is_its_text_and_is_to_be_answered() -> None:
    raw = {
        "update_id": 9,
        "callback_query": {
            "id": "p1",
            "from": SENDER,
            "chat_instance": "1",
            "data": "not yet",
            "message": {"message_id": 1, "date": 1, "chat": PERSON},
        },
    }
    got = read(raw, None, ME, NOW)
    assert got.callback_id == "p1"
    assert isinstance(got.kept, Incoming)
    assert (got.kept.text, got.kept.address, got.kept.sent_at) == ("not yet", "7", NOW)


def test_a_button_without_its_message_is_the_persons_own() -> None:
    query = {"id": "p1", "from": SENDER, "chat_instance": "1", "data": "ready"}
    assert heard({"update_id": 9, "callback_query": query}).address == "7"


def membership(before: str, after: str, chat: dict[str, Any] = PERSON) -> dict[str, Any]:
    me = {"user": {"id": 42, "is_bot": True, "first_name": "S"}}

    def standing(status: str) -> dict[str, Any]:
        return {"status": status, **me, **({"until_date": 0} if status == "kicked" else {})}

    change = {
        "chat": chat,
        "from": SENDER,
        "date": int(SENT_AT.timestamp()),
        "old_chat_member": standing(before),
        "new_chat_member": standing(after),
    }
    return {"update_id": 9, "my_chat_member": change}


@pytest.mark.parametrize(
    ("before", "after", "reachable"),
    [("member", "kicked", False), ("kicked", "member", True), ("left", "member", True)],
)
def test_blocking_and_unblocking_say_whether_one_can_be_reached(
    before: str, after: str, reachable: bool
) -> None:
    got = heard(membership(before, after))
    assert got.reachable is reachable
    assert (got.text, got.address, got.sent_at) == ("", "7", SENT_AT)
    assert heard(membership(before, after, GROUP)).noticeboard


def test_a_standing_that_stays_says_nothing() -> None:
    assert read(membership("left", "kicked"), None, ME, NOW) == Read()


@pytest.mark.parametrize(
    ("text", "more"),
    [
        ("@stir_bot how much for 2 tanks", {}),
        ("how much for 2 tanks @Stir_Bot", {}),
        ("/how much for 2 tanks", {}),
        (
            "how much for 2 tanks",
            {
                "reply_to_message": {
                    "message_id": 1,
                    "date": 1,
                    "chat": GROUP,
                    "from": {"id": 42, "is_bot": True, "first_name": "S"},
                }
            },
        ),
    ],
)
def test_in_a_group_what_is_said_to_the_bot_is_heard(text: str, more: dict[str, Any]) -> None:
    got = heard(message(text, GROUP, **more))
    assert got.text == "how much for 2 tanks"
    assert got.noticeboard
    assert (got.address, got.name) == ("-100200", "North terraces")


@pytest.mark.parametrize(
    "text", ["see you at the market", "/today@other_bot", "@other_bot hello", ""]
)
def test_in_a_group_what_others_say_to_each_other_is_not_kept(text: str) -> None:
    assert read(message(text, GROUP), None, ME, NOW).kept is None


def test_a_group_that_became_a_larger_one_has_moved_whichever_side_says_it() -> None:
    old = {"id": -5, "type": "group", "title": "North terraces"}
    told_there = read(message(chat=old, migrate_to_chat_id=-100200), None, ME, NOW)
    told_here = read(message(chat=GROUP, migrate_from_chat_id=-5), None, ME, NOW)
    assert told_there.kept == told_here.kept == Moved("-5", "-100200")


@pytest.mark.parametrize(
    "raw",
    [
        message(chat=GROUP, new_chat_title="South"),
        message("/today", **{"from": {**SENDER, "is_bot": True}}),
        {"update_id": 9, "edited_message": message("used 15 l")["message"]},
        {"update_id": 9, "a_kind_of_tomorrow": {}},
    ],
    ids=["service", "another bot", "edit", "new kind"],
)
def test_what_is_not_said_by_a_person_to_the_bot_is_passed_over(raw: dict[str, Any]) -> None:
    assert read(raw, None, ME, NOW) == Read()


@pytest.mark.parametrize(
    ("raw", "address"),
    [
        (message(5), "7"),  # type: ignore[arg-type]
        (message("hello", date=10**15), "7"),
        ({"update_id": 9, "message": {"chat": {"id": 7}}}, "7"),
        ({"update_id": 9, "message": {"chat": {"id": -7}}}, ""),
        ({"update_id": 9, "message": "hello"}, ""),
        ({"update_id": "nine"}, ""),
        ([], ""),
        ("no json at all", ""),
        (None, ""),
    ],
)
def test_what_cannot_be_read_is_kept_whole_with_its_fault(raw: object, address: str) -> None:
    got = heard(raw)
    assert got.fault
    assert (got.text, got.address, got.sent_at) == ("", address, NOW)
    assert json.loads(got.raw) == raw


def test_characters_that_no_database_holds_are_replaced() -> None:
    got = heard(message("used\x00 150 l \ud83d"))
    assert got.text == "used\ufffd 150 l \ufffd"
    assert got.raw.isascii()


def test_two_bots_and_two_numberless_updates_never_share_an_id() -> None:
    assert outside_id({"update_id": 9}, ME) != outside_id({"update_id": 9}, Me(43, "stir_bot"))
    assert outside_id({"a": 1}, ME) != outside_id({"a": 2}, ME)


JUNK = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3)
    ),
    max_leaves=6,
)
FIELDS = st.sampled_from(["message", "callback_query", "my_chat_member", "edited_message"])


@given(st.dictionaries(FIELDS, JUNK, max_size=2), JUNK)
def test_no_update_whatever_raises(fields: dict[str, Any], number: Any) -> None:
    got = read({"update_id": number, **fields}, None, ME, NOW)
    assert got.kept is None or isinstance(got.kept, Incoming)
