"""Facts into words for one reader and one channel: the last step before the outbox."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from bot.facts import Fact, Picture, Question
from bot.messages import Manner
from bot.wording import segments
from bot.wording.catalogue import LOCALES
from bot.wording.pictures import picture
from bot.wording.values import Speaker
from bot.wording.voice import Voice


@dataclass(frozen=True, slots=True)
class Worded:
    """What is sent: the first page now, each next one when the reader asks for more.

    `fell_back` names the keys that the reader's language could not say. `buttons` are the answers
    a question offers, for channels that have buttons. `picture` is a PNG or empty.
    """

    pages: tuple[str, ...]
    fell_back: tuple[str, ...] = ()
    buttons: tuple[str, ...] = ()
    picture: bytes = b""


def say(
    facts: Sequence[Fact],
    voice: Voice,
    manner: Manner,
    *,
    question: Question | None = None,
    root: Path = LOCALES,
) -> Worded:
    """The reply that says these facts in this order, one clause a line, the question last.

    The full form is used where it fits; else clauses take their short form, the last first, until
    it does; else the short form is paged, and each page but the last ends in the hint for more.
    """
    long = Speaker(voice, root)
    asked = (question.ask,) if question else ()
    said = [fact for fact in (*facts, *asked) if not isinstance(fact, Picture)]
    options = question.options if question else ()
    buttons = tuple(_letters(long.value(option), voice, manner) for option in options)
    ending: tuple[str, ...] = ()
    if options and question and question.listed and not manner.buttons:
        ending = (", ".join(f"{n} = {label}" for n, label in enumerate(buttons, start=1)),)

    def text_of(clauses: Sequence[str]) -> str:
        lines = (clause for clause in (*clauses, *ending) if clause)
        return _letters("\n".join(lines), voice, manner)

    whole = [long.fact(fact) for fact in said]
    text = text_of(whole)
    at, short = len(said), None
    while at and not fits(text, manner):
        at -= 1
        short = short or replace(long, short=True)
        whole[at] = short.fact(said[at])
        text = text_of(whole)
    pages: tuple[str, ...] = (text,)
    if not fits(text, manner):
        pages = paged(text, manner, _letters(long.message("more", {}), voice, manner))
    return Worded(
        pages=pages,
        fell_back=tuple(long.fell_back),
        buttons=buttons if manner.buttons else (),
        picture=_first_picture(facts, long) if manner.pictures else b"",
    )


def _first_picture(facts: Sequence[Fact], speaker: Speaker) -> bytes:
    return next((picture(fact, speaker) for fact in facts if isinstance(fact, Picture)), b"")


def _letters(text: str, voice: Voice, manner: Manner) -> str:
    """The text in the letters this reader gets on this channel.

    Only a reader who asked for plain letters loses accents. A text that needs UCS-2 only for its
    typography, as a long dash, loses that on any GSM channel.
    """
    if manner.alphabet != "gsm7" or segments.is_gsm(text):
        return segments.plain(text).text if voice.plain_letters else text
    plain = segments.plain(text)
    if voice.plain_letters:
        return plain.text
    return plain.text if not any(was.isalpha() for was, _ in plain.changed) else text


def fits(text: str, manner: Manner) -> bool:
    """Whether the text goes out without paging."""
    return _size(text, manner) <= manner.pages * _unit(text, manner)


def _size(text: str, manner: Manner) -> int:
    return segments.segments(text) if manner.alphabet == "gsm7" else len(text)


def _unit(text: str, manner: Manner) -> int:
    """How much of `_size` one message of the manner holds.

    A script that needs UCS-2 fits 70 characters in an SMS, too few for a dose with its caution:
    there two count as one.
    """
    if manner.alphabet != "gsm7":
        return manner.one_message
    return 1 if segments.is_gsm(text) else 2


def paged(text: str, manner: Manner, hint: str) -> tuple[str, ...]:
    """The text in pages that fit, cut between clauses, else between words, else anywhere.

    Every page but the last ends in the hint on a line of its own.
    """
    pages: list[str] = []
    rest = text
    while not fits(rest, manner):
        cut = _cut(rest, manner, hint)
        pages.append(f"{rest[:cut].rstrip()}\n{hint}")
        rest = rest[cut:].lstrip()
    return (*pages, rest)


def _cut(text: str, manner: Manner, hint: str) -> int:
    """Where the first page ends: the last clause, sentence or word that fits with the hint."""
    most = 1
    low, high = 1, len(text)
    while low <= high:
        middle = (low + high) // 2
        if fits(f"{text[:middle].rstrip()}\n{hint}", manner):
            most, low = middle, middle + 1
        else:
            high = middle - 1
    for boundary in (r"\n", r"(?<=[.!?।])\s", r"\s"):
        # A page less than a third full is worse than a cut between words.
        ends = [found.end() for found in re.finditer(boundary, text[: most + 1])]
        if ends and ends[-1] > most // 3:
            return min(ends[-1], most + 1)
    return most
