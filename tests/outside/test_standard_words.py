"""The words that stop and start messages, against the published lists.

Source: 47 CFR 64.1200(a)(10), as quoted at govinfo.gov (FR 2024-04587) and by commentators, read
2026-11: a text that says stop, quit, end, revoke, opt out, cancel or unsubscribe takes consent
back. STOPALL, UNSTOP, START, HELP and INFO are carriers' practice, from memory.
"""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from bot.facts import Question, Request
from bot.language.doubts import NothingWritten
from bot.language.hearing import Hearing
from bot.language.understand import tongues, understand

AT = datetime(2026, 3, 2, 7, tzinfo=UTC)
STOP = ("stop", "quit", "end", "revoke", "opt out", "cancel", "unsubscribe", "stopall")
WORDS = [(word, "stop") for word in STOP]
WORDS += [("start", "resume"), ("unstop", "resume"), ("help", "help"), ("info", "help")]
NAMED = Question(NothingWritten("x"), Request("settings"), "name")
"""A question that any words may answer."""


@pytest.mark.parametrize("language", ["", *tongues()])
@pytest.mark.parametrize(("word", "kind"), WORDS)
def test_a_standard_word_is_heard_in_every_language(language: str, word: str, kind: str) -> None:
    for typed in (word, word.upper(), f" {word.title()}. "):
        for pending in ((), (NAMED,)):
            hearing = Hearing(AT, language=language, pending=pending)
            heard = understand(typed, tongues(), hearing)
            assert [each.kind for each in heard.requests] == [kind], typed
