"""For whom a message is, where it is not for whoever's phone it came from: `for Asha: stirred`."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from bot.language.understand import Tongue

LONGEST_NAME = 24
_SPLIT = re.compile(r"\s*(?P<whom>[^:：\d\n]{1,60}?)\s*[:：]\s*(?P<rest>\S.*)", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Addressed:
    """A name, what is said for that one, and whether a word like `for` said that it is a name."""

    name: str
    text: str
    plainly: bool


def addressed(text: str, heard: Mapping[str, Tongue]) -> Addressed | None:
    """For whom a message is; None where it names nobody before a colon.

    Without the word for it ("Asha: stirred") it only may be a name: whoever asks knows the names.
    The words are `talk.for_before` and `talk.for_after` of each language.
    """
    found = _SPLIT.fullmatch(text)
    if found is None:
        return None
    words = found["whom"].split()
    plainly = False
    for tongue in heard.values():
        talk = tongue.lexicon.table.get("talk", {})
        before = _phrases(talk.get("for_before", ""))
        after = _phrases(talk.get("for_after", ""))
        folded = [word.casefold() for word in words]
        for phrase in before:
            if len(words) > len(phrase) and folded[: len(phrase)] == phrase:
                words, folded, plainly = words[len(phrase) :], folded[len(phrase) :], True
        for phrase in after:
            if len(words) > len(phrase) and folded[-len(phrase) :] == phrase:
                words, folded, plainly = words[: -len(phrase)], folded[: -len(phrase)], True
    name = " ".join(words)
    return Addressed(name, found["rest"], plainly) if 0 < len(name) <= LONGEST_NAME else None


def _phrases(words: str) -> list[list[str]]:
    """The phrases of a word list, the longest first: `kwa niaba ya` before `kwa`."""
    found = [piece.casefold().split() for piece in words.split("|") if piece.strip()]
    return sorted(found, key=len, reverse=True)
