"""The words of one language: which phrase plays which role, and the habits of its writers."""

from __future__ import annotations

import gc
import re
import sys
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from functools import lru_cache
from pathlib import Path
from typing import Any

import msgspec

from bot.language import cldr
from bot.language.folding import clean, fold
from bot.language.tokens import bare_words, tokens

LOCALES = Path(__file__).resolve().parent.parent / "locales"
"""Where the languages live: one folder each, found by being there."""

Senses = Mapping[str, Any]
"""The roles a phrase can play, each with its value: {"unit": ("litre",)}."""


class LexiconError(ValueError):
    """A language's word list has a fault; the message names file, place and mend."""


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
    near: Mapping[str, tuple[str, ...]]
    """First letter -> words a slip may have meant, the ones that carry amounts first."""
    amounts: Mapping[str, tuple[str, ...]]
    """The same for the words that carry amounts only, for slips right beside a numeral."""
    carrying: frozenset[str]
    """Words that stand alone for a part of an amount, a date or a time."""
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
    return tuple(sorted(path.parent.name for path in folder.glob("*/words.toml")))


def load(tag: str, folder: Path = LOCALES) -> Lexicon:
    """The lexicon of a language, read once.

    Raises:
        LexiconError: there is no such language, or its word list has a fault.
    """
    return _load(tag, folder)


@lru_cache(maxsize=64)
def _load(tag: str, folder: Path) -> Lexicon:
    # Thousands of small objects that all stay: looking for garbage among them costs a fifth.
    collecting = gc.isenabled()
    gc.disable()
    try:
        return _compiled(tag, folder)
    finally:
        if collecting:
            gc.enable()


def _compiled(tag: str, folder: Path) -> Lexicon:
    table = _table(tag, folder)
    try:
        language = msgspec.convert(table.get("language", {}), Language, strict=False)
        habits = msgspec.convert(table.get("habits", {}), Habits, strict=False)
    except msgspec.ValidationError as fault:
        raise LexiconError(f"locales/{tag}/words.toml: {fault}") from fault
    senses: dict[tuple[str, ...], dict[str, Any]] = {}
    known: set[str] = set(words_in({k: v for k, v in table.items() if k not in _NOT_HEARD}))
    for role, value, phrase in _entries(table, tag):
        _add(senses, phrase, role, value)
    barred = {tuple(_split(phrase)) for phrase in language.without.split(",")}
    if language.cldr:
        for role, value, phrase in cldr.names(language.cldr):
            if tuple(_split(phrase.replace("{0}", " "))) not in barred:
                _add(senses, phrase, role, value, own=False)
    known.update(word for words in senses for word in words)
    phrases: dict[str, tuple[tuple[tuple[str, ...], Senses], ...]] = {}
    for words in sorted(senses, key=len, reverse=True):
        phrases[words[0]] = (*phrases.get(words[0], ()), (words, senses[words]))
    near = _near(senses, known)
    amounts = _near(senses, {w for ws, rs in senses.items() if rs.keys() & _CARRYING for w in ws})
    for other in language.borrows:
        lender = _load(other, folder)
        own = known.copy()
        _borrow(phrases, lender, own, barred)
        for mine, theirs in ((near, lender.near), (amounts, lender.amounts)):
            for first, words in theirs.items():
                mine[first] = mine.get(first, ()) + tuple(w for w in words if w not in own)
        known |= lender.known
    return Lexicon(
        tag=tag,
        language=language,
        habits=habits,
        phrases=phrases,
        known=frozenset(known),
        near=near,
        amounts=amounts,
        carrying=frozenset(
            first
            for first, entries in phrases.items()
            if any(len(words) == 1 and roles.keys() & _CARRYING for words, roles in entries)
        ),
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
) -> None:
    """Add the phrases of another language that this one has no words of its own for."""
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


_NOT_HEARD = ("language", "habits", "examples", "reading")
_VALUED = {
    ("numbers", "cardinals"): "num",
    ("numbers", "fractions"): "fraction",
    ("numbers", "parts"): "part",
    ("numbers", "ordinals"): "ordinal",
    ("numbers", "multiples"): "multiple",
    ("numbers", "more"): "more",
    ("numbers", "thousands"): "glued",
    ("units", "names"): "unit",
    ("units", "doubtful"): "unit",
    ("nouns", "names"): "noun",
    ("spans", "names"): "span",
    ("every", "rates"): "rate",
    ("dates", "days"): "day",
    ("dates", "months"): "month",
    ("dates", "weekdays"): "weekday",
    ("dates", "feasts"): "feast",
    ("times", "clock"): "clock",
    ("times", "parts"): "daypart",
    ("times", "shifts"): "shift",
}
_ROLES = {
    "nouns": "",
    "numbers": "article indefinite and point suffix of about determiner by",
    "units": "tentative per degree unit_before",
    "ratios": "parts in out_of water culture cue",
    "ranges": "from to between or",
    "spans": "whole alone lasting tentative",
    "every": "each other rate_of once interval",
    "dates": "ago within within_after after next last this from_now old past future on on_after"
    " ordinal_day weak habitual day_after day_before",
    "times": "at dawn oclock am pm past minus until minute half_hour half_before",
    "cues": "temperature recipe field money",
    "known": "glue words",
}
_QUIET = frozenset(("glue", "words"))


def _table(tag: str, folder: Path) -> dict[str, Any]:
    try:
        with (folder / tag / "words.toml").open("rb") as file:
            return tomllib.load(file)
    except FileNotFoundError as fault:
        there = ", ".join(tags(folder)) or "none"
        raise LexiconError(f"there is no language {tag}; there are: {there}") from fault
    except tomllib.TOMLDecodeError as fault:
        raise LexiconError(f"locales/{tag}/words.toml: {fault}") from fault


def _entries(table: Mapping[str, Any], tag: str) -> Iterator[tuple[str, Any, str]]:
    for section, roles in _ROLES.items():
        for name, content in table.get(section, {}).items():
            where = f"locales/{tag}/words.toml: [{section}] {name}"
            if isinstance(content, str):
                if name not in roles.split():
                    raise LexiconError(f"{where}: no such words; there are: {roles}")
                for phrase in content.split(","):
                    yield name, True, phrase
            elif (section, name) in _VALUED:
                role = _VALUED[section, name]
                for key, phrases in content.items():
                    for phrase in phrases.split(","):
                        yield role, _value(section, name, key, where), phrase
            elif (section, name) != ("dates", "endings"):
                raise LexiconError(f"{where}: no such table")


def _value(section: str, name: str, key: str, where: str) -> Any:
    try:
        match section, name:
            case ("units" | "nouns", _):
                return tuple(part.strip() for part in key.split("|"))
            case ("spans", _) | ("every", _):
                n, unit = key.split()
                return Decimal(n), unit
            case ("dates", "days"):
                return tuple(int(part) for part in key.split("|"))
            case ("times", "parts"):
                first, last = key.split("-")
                return int(first), int(last)
            case ("times", "clock") | ("dates", "feasts"):
                return key
            case _:
                return Decimal(key) if "." in key else int(key)
    except (ValueError, InvalidOperation) as fault:
        raise LexiconError(f"{where}: {key!r} is not understood") from fault


_PLAIN = re.compile(r"[^!-/0-9:-@\[-`{-~\u00a0-\u00bf²³½⅓⅔¼¾°।॥॰\u2000-\u206f٠-٩०-९]*")


def _split(phrase: str) -> list[str]:
    if _PLAIN.fullmatch(phrase):  # only words and spaces: no need of the tokenizer
        return [sys.intern(word) for word in fold(phrase).split()]
    return [token.word for token in tokens(clean(phrase)[0])]


def _add(
    senses: dict[tuple[str, ...], dict[str, Any]],
    phrase: str,
    role: str,
    value: Any,
    *,
    own: bool = True,
) -> None:
    if "{0}" in phrase:
        before, _, after = phrase.partition("{0}")
        unit = value[0] if isinstance(value, tuple) else value
        words, role, value = tuple(_split(before)), "around", ((tuple(_split(after)), unit),)
    else:
        words = tuple(_split(phrase)) or ((phrase.strip(),) if phrase.strip() else ())
    if not words:
        return
    roles = senses.setdefault(words, {})
    if role in _QUIET:
        return
    if role == "unit" and isinstance(value, str):
        value = (value,)
    if role == "around":
        value = (*roles.get("around", ()), *value)
    elif (role in roles and not own) or (
        not own and role in ("unit", "span") and ("unit" in roles or "span" in roles)
    ):  # the list's own sense of a word goes before CLDR's
        return
    roles[role] = value


_SLOT = re.compile(r"\{[^}]*\}")


def words_in(content: Any) -> Iterator[str]:
    """Every word of a table's phrases and templates, at any depth; `{slots}` are left out."""
    if isinstance(content, str):
        yield from bare_words(_SLOT.sub(" ", content) if "{" in content else content)
    elif isinstance(content, Mapping):
        for name, inner in content.items():
            if name != "examples":
                yield from words_in(inner)
    elif isinstance(content, list):
        for inner in content:
            yield from words_in(inner)


_CARRYING = frozenset(
    ("unit", "span", "noun", "num", "fraction", "multiple", "more", "day", "weekday", "month")
).union(("each", "rate", "daypart", "clock", "oclock", "ago", "after", "next", "last", "parts"))
_FIRST = {
    role: rank
    for rank, role in enumerate(
        ("unit", "span", "noun", "num", "day", "weekday", "month", "fraction", "multiple")
    )
}


def _near(
    senses: Mapping[tuple[str, ...], Mapping[str, Any]], known: set[str]
) -> dict[str, tuple[str, ...]]:
    """Words of four letters and more by first letter; those that carry amounts first."""
    weight: dict[str, int] = {}
    for words, roles in senses.items():
        rank = min((_FIRST.get(role, 9) for role in roles), default=9)
        for word in words:
            if rank < weight.get(word, 10):
                weight[word] = rank
    alphabetical = sorted(known)
    near: dict[str, list[str]] = {}
    for word in (
        *sorted((word for word in alphabetical if word in weight), key=weight.__getitem__),
        *(word for word in alphabetical if word not in weight),
    ):
        if len(word) >= 4 and (word.isalpha() or "\u0900" <= word[0] <= "\u0dff"):
            near.setdefault(word[0], []).append(word)
    return {first: tuple(words) for first, words in near.items()}
