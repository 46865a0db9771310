"""A member's message becomes requests, one question, or the one thing that was not understood."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from pathlib import Path
from zoneinfo import ZoneInfo

from bot.facts import Fact, Request
from bot.language import pending
from bot.language.ambiguity import settled
from bot.language.clauses import clauses
from bot.language.cues import Cues, compile_cues
from bot.language.doubts import ForWhat, NothingWritten, NotUnderstood, TooLong, WordUnknown
from bot.language.folding import clean, fold
from bot.language.hearing import Hearing, Understood
from bot.language.impossible import broken
from bot.language.lexicon import LOCALES, Lexicon, all_kept, load, tags
from bot.language.marks import marks
from bot.language.message import Candidate, Message, message
from bot.language.outright import outright, whole_messages
from bot.language.read import read
from bot.language.reading import Reading
from bot.language.recognise import language_of, languages_named
from bot.language.templates import Symbols
from bot.language.tokens import tokens

ONE_SMS = 160
"""A message longer than this is not tried in a second language: it would take twice as long."""


@dataclass(frozen=True)
class Tongue:
    """One language as it is heard: its values and its ways to ask."""

    lexicon: Lexicon
    own: frozenset[str]
    """Its words without those it borrows from other languages."""
    outright: Mapping[tuple[str, ...], str]
    """What stops, starts again or helps, in whole messages of this language."""
    named: Mapping[str, tuple[str, ...]]
    lenders: tuple[Tongue, ...] = ()

    @cached_property
    def cues(self) -> Cues:
        """The language's ways to ask, compiled when it is first heard: most groups speak one.

        Raises:
            TemplateError: a line of the word list cannot be read.
        """
        with all_kept():
            cues = compile_cues(self.lexicon.tag, self.lexicon.table, self.named)
            for lender in self.lenders:
                cues.borrow(lender.cues)
            cues.slips.steady = self.lexicon.known
            cues.ready()
        return cues


@lru_cache(maxsize=8)
def tongues(folder: Path = LOCALES) -> Mapping[str, Tongue]:
    """Every language that is there, by its tag.

    Raises:
        LexiconError: a word list has a fault; the message says where.
    """
    found = tags(folder)
    heard: dict[str, Tongue] = {}

    def hear_in(tag: str, named: Mapping[str, tuple[str, ...]]) -> Tongue:
        if tag not in heard:
            lexicon = load(tag, folder)
            lenders = tuple(hear_in(other, named) for other in lexicon.language.borrows)
            lent = frozenset[str]().union(*(lender.lexicon.known for lender in lenders))
            own = lexicon.asking | (lexicon.known - lent)
            words = whole_messages(lexicon.table.get("requests", {}))
            heard[tag] = Tongue(lexicon, own, words, named, lenders)
        return heard[tag]

    with all_kept():  # what CLDR brings with the names of languages stays as well
        named = languages_named(found)
        return {tag: hear_in(tag, named) for tag in found}


def compile_all(heard: Mapping[str, Tongue]) -> None:
    """Compile every language's ways to ask now, so that a fault in a word list shows at once.

    Raises:
        TemplateError: a line of a word list cannot be read; the message says where.
    """
    for tongue in heard.values():
        _ = tongue.cues


def understand(text: str, heard: Mapping[str, Tongue], hearing: Hearing) -> Understood:
    """What a member asks or tells in one message.

    It is read in the member's language; in the one its words belong to while that is not known,
    or where nothing is understood in the member's. At most one of `question` and `doubt` is set,
    and then what was doubtful is not among the requests.
    """
    own = hearing.language if hearing.language in heard else ""
    kind = outright(text, heard, own)
    if kind:
        return Understood(
            (Request(kind),), language=own or language_of(text, heard, likely=hearing.likely)
        )
    first = own or language_of(text, heard, likely=hearing.likely)
    understood = _in_one(text, heard[first], hearing)
    if not isinstance(understood.doubt, NotUnderstood | WordUnknown | ForWhat):
        return understood
    if len(text) > ONE_SMS:
        return understood
    # What a language borrows it has heard already.
    heard_in = (first, *heard[first].lexicon.language.borrows)
    other = language_of(text, heard, besides=heard_in)
    if other and _short_words_known(text, heard[other]):
        again = _in_one(text, heard[other], hearing)
        sure = again.doubt is None and again.requests and not again.unread
        if sure and not _denied(text, heard[first], hearing):
            return again
    return understood


def _denied(text: str, tongue: Tongue, hearing: Hearing) -> bool:
    """Whether a message says what was not done, which mended words of another language may turn."""
    return any(hit.payload.force == "denies" for hit in hear(text, tongue, hearing).found)


def _short_words_known(text: str, tongue: Tongue) -> bool:
    """Whether a language knows every short word: mended, they would fit any language."""
    return all(
        len(token.word) > 3 or token.word in tongue.own or token.word in tongue.lexicon.known
        for token in tokens(clean(text)[0])
        if token.kind == "word"
    )


def hear(text: str, tongue: Tongue, hearing: Hearing) -> Message:
    """A message with everything in it that one language knows: values, words, cues."""
    lexicon, cues = tongue.lexicon, tongue.cues
    ref = hearing.said_at.astimezone(ZoneInfo(hearing.zone)).replace(tzinfo=None)
    reading = read(text, lexicon, ref)
    symbols = _symbols(reading, cues)
    found = marks(reading, symbols, lexicon, cues, hearing.names)
    return message(reading, cues, symbols, found, hearing.said_at, hearing.zone)


def _in_one(text: str, tongue: Tongue, hearing: Hearing) -> Understood:
    lexicon, cues = tongue.lexicon, tongue.cues
    heard = hear(text, tongue, hearing)
    if not any(token.kind != "mark" for token in heard.reading.tokens):
        return Understood(language=lexicon.tag, doubt=NothingWritten(cues.example))
    candidates = clauses(heard)
    answered = pending.answered(heard, candidates, hearing.pending)
    if answered is not None:
        requests, candidates = answered
    else:
        requests = ()
    unread = _unread(heard, candidates) if not requests else ()
    if not candidates and not requests:
        return Understood(language=lexicon.tag, unread=unread, doubt=_nothing(heard, unread))
    understood = settled(heard, candidates, hearing, requests, unit_first=lexicon.habits.unit_first)
    return replace(understood, language=lexicon.tag, unread=unread)


def _symbols(reading: Reading, cues: Cues) -> Symbols:
    """What each word may stand for; a mended word gives way to what was typed, where that fits."""
    found = []
    for token in reading.tokens:
        symbols = cues.symbols(fold(token.text)) if token.slip else ()
        found.append(symbols or cues.symbols(token.word))
    return found


def _unread(heard: Message, candidates: Sequence[Candidate]) -> tuple[str, ...]:
    """The words that meant nothing, as they were typed."""
    read_: set[int] = set(heard.filler)
    for candidate in candidates:
        read_ |= candidate.filled.taken
        for mark in candidate.filled.used:
            read_.update(range(mark.start, mark.end))
        for hit in candidate.cues:
            read_.update(range(hit.start, hit.end))
    for mark in heard.marks:
        read_.update(range(mark.start, mark.end))
    for hit in heard.roles:
        read_.update(range(hit.start, hit.end))
    tokens = heard.reading.tokens
    return tuple(
        token.text
        for place, token in enumerate(tokens)
        if place not in read_ and token.kind in {"word", "code"}
    )


def _nothing(heard: Message, unread: tuple[str, ...]) -> Fact:
    """The doubt about a message that says nothing here."""
    example = heard.cues.example
    if heard.reading.cut:
        return TooLong(example)
    fault = broken(heard, 0, len(heard.reading.tokens), example)
    if fault is not None:
        return fault
    values = [mark for mark in heard.marks if mark.types[0] != "doubt"]
    if values and not unread:
        first, last = values[0].start, max(mark.end for mark in values)
        return ForWhat(heard.text(first, last)[:40], example)
    if unread and len(unread) <= 3:
        return WordUnknown(" ".join(unread)[:40], example)
    return NotUnderstood(example)
