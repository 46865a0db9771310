from __future__ import annotations

from pathlib import Path

import pytest

from bot.channels.telegram.options import PREFIX, Options, checked, menu
from bot.settings import SettingsError, read

TOKEN = "123456:AAbb-cc_dd"
HOOK = {"TOKEN": TOKEN, "WEBHOOK_URL": "https://bot.example.org/t", "WEBHOOK_SECRET": "s3cret"}


def given(values: dict[str, str]) -> Options:
    return checked(read(Options, PREFIX, {PREFIX + name: value for name, value in values.items()}))


def test_a_token_is_enough() -> None:
    options = given({"TOKEN": TOKEN})
    assert (options.bot_id, options.poll_timeout_s) == ("123456", 25)


def test_a_webhook_wants_an_address_and_a_secret() -> None:
    assert given({**HOOK, "WEBHOOK_LISTEN": "[::1]:8080"}).webhook_listen == "[::1]:8080"


@pytest.mark.parametrize(
    ("values", "variable"),
    [
        ({}, "TOKEN"),
        ({"TOKEN": ""}, "TOKEN"),
        ({"TOKEN": "AAbb-cc_dd"}, "TOKEN"),
        ({"TOKEN": TOKEN + " "}, "TOKEN"),
        ({"TOKEN": TOKEN, "API": "api.example.org"}, "API"),
        ({"TOKEN": TOKEN, "POLL_TIMEOUT_S": "90"}, "POLL_TIMEOUT_S"),
        ({"TOKEN": TOKEN, "POLL_TIMEOUT_S": "long"}, "POLL_TIMEOUT_S"),
        ({**HOOK, "WEBHOOK_URL": "http://bot.example.org"}, "WEBHOOK_URL"),
        ({**HOOK, "WEBHOOK_SECRET": ""}, "WEBHOOK_SECRET"),
        ({**HOOK, "WEBHOOK_SECRET": "with space"}, "WEBHOOK_SECRET"),
        ({**HOOK, "WEBHOOK_LISTEN": "8443"}, "WEBHOOK_LISTEN"),
        ({**HOOK, "WEBHOOK_LISTEN": "127.0.0.1:99999"}, "WEBHOOK_LISTEN"),
    ],
)
def test_a_wrong_setting_is_one_line_that_names_it(values: dict[str, str], variable: str) -> None:
    with pytest.raises(SettingsError) as said:
        given(values)
    assert str(said.value).startswith(PREFIX + variable)
    assert "\n" not in str(said.value)
    assert "AAbb" not in str(said.value)


def test_commands_come_from_a_table_a_language(tmp_path: Path) -> None:
    file = tmp_path / "commands.toml"
    file.write_text('[default]\ntoday = "What is due"\n[hi]\ntoday = "आज का काम"\n', "utf-8")
    options = Options(TOKEN, commands=str(file))
    assert menu(options) == {"default": {"today": "What is due"}, "hi": {"today": "आज का काम"}}
    assert menu(Options(TOKEN)) == {}


@pytest.mark.parametrize(
    "text", ['[en]\n"My Barrels" = "x"', '[english]\ntoday = "x"', "[en]\ntoday = 1", "today", None]
)
def test_a_wrong_table_of_commands_is_one_line(tmp_path: Path, text: str | None) -> None:
    file = tmp_path / "commands.toml"
    if text is not None:
        file.write_text(text, "utf-8")
    with pytest.raises(SettingsError, match=r"^STIRBELL_TELEGRAM_COMMANDS") as said:
        menu(Options(TOKEN, commands=str(file)))
    assert "\n" not in str(said.value)
