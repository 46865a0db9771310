"""A language's word list as it is written: its phrases, what each says, and all its words."""

from __future__ import annotations

import re
import sys
import tomllib
from collections.abc import Container, Iterable, Mapping
from decimal import Decimal, InvalidOperation
from itertools import chain, repeat
from pathlib import Path
from typing import Any

from bot.language.folding import clean, fold
from bot.language.tokens import bare_words, tokens

Words = tuple[str, ...]
"""A phrase, cut and folded as a message is."""

Senses = dict[Words, dict[str, Any]]
"""Phrases with the roles they can play, each with its value: {("litre",): {"unit": ("litre",)}}."""


class LexiconError(ValueError):
    """A language's word list has a fault; the message names file, place and mend."""


ASKING = ("talk", "which", "terms", "slots", "requests")
"""Tables of what is asked and told, read by `cues`."""

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
    ("units", "paces"): "pace",
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
_ROLES: Mapping[str, tuple[str, ...]] = {
    section: tuple(roles.split())
    for section, roles in {
        "nouns": "",
        "numbers": "article indefinite and point suffix of about determiner by",
        "units": "tentative per degree unit_before",
        "ratios": "parts in out_of water culture cue",
        "ranges": "from to between or",
        "spans": "whole alone lasting tentative",
        "every": "each other rate_of once interval times twice",
        "dates": "ago within within_after after next last this from_now old past future on on_after"
        " ordinal_day weak habitual day_after day_before week_on two_weeks_on",
        "times": "at dawn oclock am pm past minus until minute half_hour half_before",
        "cues": "temperature recipe field money planting",
        "known": "glue words",
    }.items()
}
_QUIET = frozenset(("glue", "words"))


def tags(folder: Path) -> tuple[str, ...]:
    """The languages that are there, in order."""
    return tuple(sorted(path.parent.name for path in folder.glob("*/words.toml")))


def table_of(tag: str, folder: Path) -> dict[str, Any]:
    """A language's words.toml.

    Raises:
        LexiconError: there is no such language, or the file is no TOML.
    """
    try:
        with (folder / tag / "words.toml").open("rb") as file:
            return tomllib.load(file)
    except FileNotFoundError as fault:
        there = ", ".join(tags(folder)) or "none"
        raise LexiconError(f"there is no language {tag}; there are: {there}") from fault
    except tomllib.TOMLDecodeError as fault:
        raise LexiconError(f"locales/{tag}/words.toml: {fault}") from fault


def add_listed(senses: Senses, table: Mapping[str, Any], tag: str) -> None:
    """Add every phrase of a word list.

    Raises:
        LexiconError: a table, a list or a value is not understood.
    """
    for section, roles in _ROLES.items():
        for name, content in table.get(section, {}).items():
            where = f"locales/{tag}/words.toml: [{section}] {name}"
            if isinstance(content, str):
                if name not in roles:
                    raise LexiconError(
                        f"{where}: no such words; there are: {' '.join(roles) or 'none'}"
                    )
                _add_all(senses, content, name, value=True)
            elif (section, name) in _VALUED:
                role = _VALUED[section, name]
                for key, listed in content.items():
                    _add_all(senses, listed, role, value=_value(section, name, key, where))
            elif (section, name) != ("dates", "endings"):
                raise LexiconError(f"{where}: no such table")


def _add_all(senses: Senses, listed: str, role: str, *, value: Any) -> None:
    """Add the phrases of one comma list."""
    if _LIST.fullmatch(listed) is None:
        for phrase in listed.split(","):
            add(senses, phrase, role, value)
        return
    for phrase in fold(listed).split(","):  # words and gaps: no need of the tokenizer
        words = tuple(map(sys.intern, phrase.translate(_GAPS).split()))
        if words:
            _add(senses, words, role, value, own=True)
        else:
            add(senses, phrase, role, value)


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
                [int(part) for part in re.split("[-:+]", key.removeprefix("easter")) if part]
                return key
            case _:
                return Decimal(key) if "." in key else int(key)
    except (ValueError, InvalidOperation) as fault:
        raise LexiconError(f"{where}: {key!r} is not understood") from fault


# What the tokenizer may see more in than a gap between words: digits, marks, other scripts' stops.
_MORE = r"!-&(-+/0-9:-@\[-`{-~\u00a0-\u00bf²³½⅓⅔¼¾°।॥॰\u2000-\u2018\u201a-\u206f٠-٩०-९"
_PHRASE = re.compile(rf"[^,{_MORE}]*")
_LIST = re.compile(rf"[^{_MORE}]*")
_GAPS = str.maketrans("-'.’", "    ")


def split(phrase: str) -> Words:
    """The words of a phrase, cut and folded as a message is."""
    if _PHRASE.fullmatch(phrase):
        words = tuple(map(sys.intern, fold(phrase).translate(_GAPS).split()))
    else:
        words = tuple(token.word for token in tokens(clean(phrase)[0]))
    return words or ((phrase.strip(),) if phrase.strip() else ())


def add(
    senses: Senses,
    phrase: str,
    role: str,
    value: Any,
    *,
    barred: Container[Words] = (),
    own: bool = True,
) -> None:
    """Add one phrase that is not `barred`; `{0}` inside stands for the number it stands around.

    What is not the list's `own` gives way to what the list says of the same words.
    """
    before, around, after = phrase.partition("{0}")
    words = split(before)
    if not around:
        if words not in barred:
            _add(senses, words, role, value, own=own)
        return
    if words + split(after) in barred:
        return
    unit = value[0] if isinstance(value, tuple) else value
    roles = senses.setdefault(words, {})
    roles["around"] = (*roles.get("around", ()), (split(after), unit))


def _add(senses: Senses, words: Words, role: str, value: Any, *, own: bool) -> None:
    if not words:
        return
    roles = senses.setdefault(words, {})
    if role in _QUIET:
        return
    if role == "unit" and isinstance(value, str):
        value = (value,)
    if own:
        roles[role] = value
    elif role not in roles and not (
        role in ("unit", "span") and ("unit" in roles or "span" in roles)
    ):
        roles[role] = value  # the list's own sense of a word goes before CLDR's


_SLOT = re.compile(r"\{[^}\n]*\}|<[^>\n]*>|->[^\n]*")


def words_in(content: Any) -> set[str]:
    """Every word of a table's phrases and templates, at any depth; `{slots}` are left out."""
    texts: list[str] = []
    _texts(content, texts)
    return bare_words(_SLOT.sub(" ", "\n".join(texts)))


def _texts(content: Any, texts: list[str]) -> None:
    if isinstance(content, str):
        texts.append(content)
    elif isinstance(content, dict):
        for name, inner in content.items():
            if name != "examples":
                _texts(inner, texts)
    elif isinstance(content, list):
        for inner in content:
            _texts(inner, texts)


CARRYING = frozenset(
    ("unit", "span", "noun", "num", "fraction", "multiple", "more", "day", "weekday", "month")
).union(("each", "rate", "daypart", "clock", "oclock", "ago", "after", "next", "last", "parts"))
"""Roles of words that stand for a part of an amount, a date or a time."""

_FIRST = {
    role: rank
    for rank, role in enumerate(
        ("unit", "span", "noun", "num", "day", "weekday", "month", "fraction", "multiple")
    )
}
_LAST = 9
_NO_RANK = repeat(_LAST)


def meant_by_slips(senses: Senses, known: Iterable[str]) -> list[str]:
    """Words of four letters and more that a slip may stand for.

    The ones that carry amounts come first, the rest in the order of the alphabet.
    """
    weight: dict[str, int] = {}
    for words, roles in senses.items():
        rank = min(map(_FIRST.get, roles, _NO_RANK), default=_LAST)
        for word in words:
            if rank < weight.get(word, _LAST + 1):
                weight[word] = rank
    long = sorted(
        word
        for word in known
        if len(word) >= 4 and (word.isalpha() or "\u0900" <= word[0] <= "\u0dff")
    )
    ranked: list[list[str]] = [[] for _ in range(_LAST + 2)]
    for word in long:
        ranked[weight.get(word, _LAST + 1)].append(word)
    return list(chain.from_iterable(ranked))


def grouped(words: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """Words by their first letter, in the order they come."""
    near: dict[str, list[str]] = {}
    for word in words:
        near.setdefault(word[0], []).append(word)
    return {first: tuple(group) for first, group in near.items()}
