"""The words of one language: which phrase plays which role, and the habits of its writers."""

from __future__ import annotations

import gc
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

import msgspec

from bot.language import cldr, word_list
from bot.language.word_list import CARRYING, LexiconError, words_in

LOCALES = Path(__file__).resolve().parent.parent / "locales"
"""Where the languages live: one folder each, found by being there."""

Senses = Mapping[str, Any]
"""The roles a phrase can play, each with its value: {"unit": ("litre",)}."""


class Habits(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """How writers of a language put numbers, dates and times."""

    decimal: str = "."
    """The mark before tenths; the other one of . and , groups thousands."""
    spaced_thousands: bool = False
    """A space groups thousands: 1 500."""
    unit_first: bool = False
    """The unit stands before its number: lita 16."""
    day_first: bool = True
    """1/6 is the first of June."""
    hours_from_dawn: bool = False
    """The day's first hour ends an hour after dawn: saa 1 asubuhi is 07:00."""
    join_from: int = 100
    """The joining word (and) is heard inside a number from this value on."""
    implied_hundred: bool = False
    """Two fifty is 250."""
    multiplier_after: bool = False
    """Hundred two is 200."""
    teens_after: tuple[int, ...] = ()
    """Tens that ten to nineteen add to: sixty and ten is seventy."""
    hour_then_minutes: bool = False
    """Seven hours ten is a time."""
    minutes_after_and: bool = False
    """Six and ten is a time, not two."""
    afternoon: tuple[int, int] = (1, 3)
    """Bare hours (first, last) that mean the afternoon."""


class Language(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a language is called, and which other word lists its writers mix in."""

    name: str
    cldr: str = ""
    """The CLDR locale that gives unit, month and day names; none when empty."""
    borrows: tuple[str, ...] = ()
    """Languages whose words are heard too, where this one has none of its own."""
    without: str = ""
    """Names of CLDR, and borrowed words, that mean something else here."""


@dataclass(frozen=True, slots=True)
class Lexicon:
    """All words of one language, ready to be looked up."""

    tag: str
    language: Language
    habits: Habits
    phrases: Mapping[str, tuple[tuple[tuple[str, ...], Senses], ...]]
    """First word -> (all words, senses), the longest phrase first."""
    known: frozenset[str]
    """Every word of the list: never taken for a slip of another."""
    asking: frozenset[str]
    """Words of the tables that say how things are asked and told."""
    lent: frozenset[str]
    """Known words that only another language's list has."""
    near: Mapping[str, tuple[str, ...]]
    """First letter -> words a slip may have meant, the ones that carry amounts first."""
    amounts: Mapping[str, tuple[str, ...]]
    """The same for the words that carry amounts only, for slips right beside a numeral."""
    carrying: frozenset[str]
    """Words that stand alone for a part of an amount, a date or a time."""
    pairs: frozenset[str]
    """Words that double what stands before them, which no slip may become: it would be a dose."""
    glue: frozenset[str]
    """Small words that never describe the noun after them."""
    suffixes: Mapping[str, tuple[str, ...]]
    """Endings that tell the tense of a verb: {"past": (...), "future": (...)}."""
    table: Mapping[str, Any] = field(repr=False)
    """The whole word list, for whoever reads its other tables."""
    memory: dict[Any, Any] = field(default_factory=dict, repr=False, compare=False)
    """Slips already looked up; bounded by who writes to it."""


def tags(folder: Path = LOCALES) -> tuple[str, ...]:
    """The languages that are there, in order."""
    return word_list.tags(folder)


def load(tag: str, folder: Path = LOCALES) -> Lexicon:
    """The lexicon of a language, read once.

    Raises:
        LexiconError: there is no such language, or its word list has a fault.
    """
    return _load(tag, folder)


@lru_cache(maxsize=64)
def _load(tag: str, folder: Path) -> Lexicon:
    with all_kept():
        return _compiled(tag, folder)


@contextmanager
def all_kept() -> Iterator[None]:
    """No looking for garbage while thousands of small objects are made that all stay.

    It costs a fifth of the time otherwise; nor are they looked at ever after.
    """
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.freeze()
            gc.enable()


def _compiled(tag: str, folder: Path) -> Lexicon:
    table = word_list.table_of(tag, folder)
    try:
        language = msgspec.convert(table.get("language", {}), Language, strict=False)
        habits = msgspec.convert(table.get("habits", {}), Habits, strict=False)
    except msgspec.ValidationError as fault:
        raise LexiconError(f"locales/{tag}/words.toml: {fault}") from fault
    senses: word_list.Senses = {}
    asking = words_in({k: v for k, v in table.items() if k in word_list.ASKING})
    word_list.add_listed(senses, table, tag)
    barred = {word_list.split(phrase) for phrase in language.without.split(",") if phrase.strip()}
    if language.cldr:
        for role, value, phrase in cldr.names(language.cldr):
            word_list.add(senses, phrase, role, value, barred=barred, own=False)
    known = asking.union(*senses, words_in(table.get("dates", {}).get("endings", {})))
    phrases: dict[str, tuple[tuple[tuple[str, ...], Senses], ...]] = {}
    for words in sorted(senses, key=len, reverse=True):
        phrases[words[0]] = (*phrases.get(words[0], ()), (words, senses[words]))
    amounting = [words for words, roles in senses.items() if not CARRYING.isdisjoint(roles)]
    amount_words = {word for words in amounting for word in words}
    carrying = {words[0] for words in amounting if len(words) == 1}
    ranked = word_list.meant_by_slips(senses, known)
    near = word_list.grouped(ranked)
    amounts = word_list.grouped(word for word in ranked if word in amount_words)
    pairs = {
        words[0]
        for words, roles in senses.items()
        if len(words) == 1 and roles.get("multiple") == 2
    }
    lent: set[str] = set()
    for other in language.borrows:
        lender = _load(other, folder)
        own = known.copy()
        carrying |= _borrow(phrases, lender, own, barred)
        for mine, theirs in ((near, lender.near), (amounts, lender.amounts)):
            for first, words in theirs.items():
                mine[first] = mine.get(first, ()) + tuple(w for w in words if w not in own)
        pairs |= {word for word in lender.pairs - own if (word,) not in barred}
        lent |= lender.known - own
        known |= lender.known
    return Lexicon(
        tag=tag,
        language=language,
        habits=habits,
        phrases=phrases,
        known=frozenset(known),
        asking=frozenset(asking),
        lent=frozenset(lent),
        near=near,
        amounts=amounts,
        carrying=frozenset(carrying),
        pairs=frozenset(pairs),
        glue=frozenset(words_in(table.get("known", {}).get("glue", ""))),
        suffixes={
            key: tuple(end.strip() for end in ends.split(","))
            for key, ends in table.get("dates", {}).get("endings", {}).items()
        },
        table=table,
    )


def _borrow(
    phrases: dict[str, tuple[tuple[tuple[str, ...], Senses], ...]],
    lender: Lexicon,
    own: set[str],
    barred: set[tuple[str, ...]],
) -> set[str]:
    """The single words that carry amounts among what another language lends.

    Adds the phrases of the other language that this one has no words of its own for.
    """
    carrying: set[str] = set()
    for first, entries in lender.phrases.items():
        mine = phrases.get(first, ())
        have = {words for words, _ in mine}
        lent = tuple(
            (words, roles)
            for words, roles in entries
            if words not in have
            and words not in barred
            and not (len(words) == 1 and words[0] in own)
        )
        if lent:
            phrases[first] = (
                tuple(sorted((*mine, *lent), key=lambda entry: len(entry[0]), reverse=True))
                if mine
                else lent
            )
            if first in lender.carrying:
                carrying.update(
                    words[0]
                    for words, roles in lent
                    if len(words) == 1 and not CARRYING.isdisjoint(roles)
                )
    return carrying


__all__ = ["LOCALES", "Habits", "Language", "Lexicon", "LexiconError", "load", "tags", "words_in"]
