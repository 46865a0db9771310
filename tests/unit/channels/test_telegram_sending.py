from __future__ import annotations

import httpx
import pytest
from telegram.error import (
    BadRequest,
    ChatMigrated,
    Conflict,
    Forbidden,
    InvalidToken,
    NetworkError,
    TelegramError,
    TimedOut,
)

from bot.channels.telegram.api import RefusalError
from bot.channels.telegram.sending import keyboard, outcome_of
from bot.messages import Became, Outcome

LATER, REFUSED, UNKNOWN = Became.LATER, Became.REFUSED, Became.UNKNOWN


def from_http(fault: NetworkError, cause: Exception) -> NetworkError:
    fault.__cause__ = cause
    return fault


# Measured over loopback with python-telegram-bot 22.8 (what it raises for each fault), and the
# codes beside it that the library has no kind for.
@pytest.mark.parametrize(
    ("fault", "became", "whole_channel", "dead_address"),
    [
        (RefusalError(429, "Too Many Requests", 7.0, telegram=True), LATER, False, False),
        (RefusalError(503, "HTTP 503", 0.0, telegram=False), LATER, True, False),
        (RefusalError(500, "Internal Server Error", 0.0, telegram=True), UNKNOWN, False, False),
        (RefusalError(502, "Bad Gateway", 0.0, telegram=True), UNKNOWN, False, False),
        (RefusalError(403, "HTTP 403", 0.0, telegram=False), LATER, True, False),
        (RefusalError(302, "HTTP 302", 0.0, telegram=False), LATER, True, False),
        (RefusalError(413, "Request Entity Too Large", 0.0, telegram=True), REFUSED, False, False),
        (Forbidden("Forbidden: bot was blocked by the user"), REFUSED, False, True),
        (BadRequest("Bad Request: chat not found"), REFUSED, False, True),
        (BadRequest("Bad Request: CHAT_WRITE_FORBIDDEN"), REFUSED, False, True),
        (BadRequest("Bad Request: message is too long"), REFUSED, False, False),
        (ChatMigrated(-100200), LATER, False, False),
        (InvalidToken("The token `42:x` was rejected"), LATER, True, False),
        (from_http(NetworkError("x"), httpx.ConnectError("x")), LATER, True, False),
        (from_http(TimedOut("x"), httpx.ConnectTimeout("x")), LATER, True, False),
        (from_http(TimedOut("x"), httpx.PoolTimeout("x")), LATER, True, False),
        (from_http(NetworkError("x"), httpx.RemoteProtocolError("x")), UNKNOWN, False, False),
        (from_http(TimedOut("x"), httpx.ReadTimeout("x")), UNKNOWN, False, False),
        (from_http(NetworkError("x"), httpx.WriteError("x")), UNKNOWN, False, False),
        (TelegramError("Invalid server response"), UNKNOWN, False, False),
        (Conflict("Conflict"), UNKNOWN, False, False),
        (TimeoutError(), UNKNOWN, False, False),
    ],
)
def test_a_fault_means_this_for_the_message(
    fault: Exception, became: Became, whole_channel: bool, dead_address: bool
) -> None:
    got = outcome_of(fault)
    assert (got.became, got.whole_channel, got.dead_address) == (
        became,
        whole_channel,
        dead_address,
    )
    assert got.cause
    assert "42:x" not in got.cause


def test_a_wait_is_as_long_as_asked_and_never_nothing() -> None:
    asked = outcome_of(RefusalError(429, "Too Many Requests", 7.0, telegram=True))
    unsaid = outcome_of(RefusalError(429, "Too Many Requests", 0.0, telegram=True))
    assert (asked.retry_after_s, unsaid.retry_after_s) == (7.0, 1.0)


def test_a_moved_group_says_where_to() -> None:
    assert outcome_of(ChatMigrated(-100200)) == Outcome(
        LATER, "the group has a new address", retry_after_s=0.0, new_address="-100200"
    )


@pytest.mark.parametrize(
    ("buttons", "rows"),
    [
        (("ready", "not yet", "bad"), [3]),
        (("ready", "not yet", "bad", "later"), [3, 1]),
        (("washed by rain", "not sprayed"), [2]),
        (("I sprayed it this morning", "no"), [1, 1]),
    ],
)
def test_buttons_stand_in_rows_that_a_small_screen_shows(
    buttons: tuple[str, ...], rows: list[int]
) -> None:
    laid = keyboard(buttons)
    assert laid is not None
    assert [len(row) for row in laid.keyboard] == rows
    assert tuple(button.text for row in laid.keyboard for button in row) == buttons


def test_no_buttons_no_keyboard() -> None:
    assert keyboard(()) is None
