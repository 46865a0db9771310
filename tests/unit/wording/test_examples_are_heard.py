"""What a reply tells a grower to send is understood when it is sent, in every language."""

from __future__ import annotations

import re
from datetime import UTC, datetime

import pytest

from bot.language.doubts import ForWhat
from bot.language.hearing import Hearing, Understood
from bot.language.understand import tongues, understand
from bot.wording.catalogue import ENGLISH, load, tags

SHOWS = re.compile(r"(?:example|, as|[Ss]end|[Ss]end first|[Aa]nd): (?!.*: )(.+)$")
"""An English message that ends in words to be sent; the other languages end alike."""

VALUES = {"barrel": "B1", "kept": "20 L", "keep": "20 L", "usual": "200 L", "one": "1 ha", "n": "3"}
VALUES |= {"other": "swahili", "language": "hinglish"}
HELPS = ("help.mix", "help.barrel", "help.rounds", "help.settings")
HEARD = tongues()


def _shown(tag: str) -> dict[str, tuple[str, ...]]:
    english = {entry.key: entry.forms[0] for entry in load(ENGLISH).entries}
    shown = {}
    for entry in load(tag).entries:
        form = entry.forms[0]
        if entry.key in HELPS:
            shown[entry.key] = tuple(form.partition(": ")[2].rstrip(".").split("; "))
        elif SHOWS.search(english.get(entry.key, "")) and "{example}" not in form:
            shown[entry.key] = (form.rpartition(": ")[2],)
    return shown


def _understood(shown: str, tag: str) -> Understood:
    said = re.sub(r"\{(\w+)(?::\w+)?\}", lambda slot: VALUES.get(slot[1], "tomato"), shown)
    hearing = Hearing(
        said_at=datetime(2026, 3, 4, 9, tzinfo=UTC), language=tag, names={"barrel": ("B1",)}
    )
    return understand(re.sub(r"\((.+?)\)", "Kisumu", said), HEARD, hearing)


@pytest.mark.parametrize("tag", tags())
def test_what_a_reply_tells_to_send_is_understood_as_in_english(tag: str) -> None:
    lost = []
    english = _shown(ENGLISH)
    for key, lines in _shown(tag).items():
        assert len(lines) == len(english[key]), key
        for shown, wanted in zip(lines, english[key], strict=True):
            found, meant = _understood(shown, tag), _understood(wanted, ENGLISH)
            kinds = [request.kind for request in found.requests]
            # A bare amount answers the question it stands in.
            if kinds != [request.kind for request in meant.requests] or (
                not kinds and not isinstance(found.doubt, ForWhat)
            ):
                lost.append(f"{key}: {shown!r}: {kinds or found.doubt or found.question}")
            elif kinds and found.language != tag:
                lost.append(f"{key}: {shown!r} is understood, but as {found.language}")
    assert not lost, "\n".join(lost)
