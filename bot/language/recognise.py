"""Which language a message is in, and what languages are called in each other."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from babel import Locale, UnknownLocaleError

from bot.language.folding import clean
from bot.language.tokens import tokens

if TYPE_CHECKING:
    from bot.language.understand import Tongue


def language_of(
    text: str,
    heard: Mapping[str, Tongue],
    besides: Container[str] = (),
    likely: str = "",
) -> str:
    """The language that knows most of a message's words; "" when none knows any.

    A word of its own counts twice one that it borrows, a long word more than a short one. Ties go
    to the `likely` language, else to the first in the order of tags, so English before Spanish.
    """
    words = [token.word for token in tokens(clean(text)[0]) if token.kind == "word"]
    best, most = "", 0
    for tag, tongue in sorted(heard.items(), key=lambda each: each[0] != likely):
        if tag in besides:
            continue
        count = sum(
            min(len(word), 8) * (2 if word in tongue.own else 1)
            for word in words
            if word in tongue.own or word in tongue.lexicon.known
        )
        if count > most:
            best, most = tag, count
    if not best and not besides:
        if likely in heard:
            return likely
        return "en" if "en" in heard else next(iter(heard))
    return best


@lru_cache(maxsize=8)
def languages_named(tags: Sequence[str]) -> Mapping[str, tuple[str, ...]]:
    """For each tag what its language is called in all of them and in itself, from CLDR."""
    locales = {}
    for tag in tags:
        try:
            locales[tag] = Locale.parse(tag, sep="-")
        except (UnknownLocaleError, ValueError):
            continue
    named: dict[str, tuple[str, ...]] = {}
    for tag in tags:
        own = locales.get(tag)
        names = []
        for other in locales.values():
            for key in dict.fromkeys((tag.replace("-", "_"), own.language if own else tag)):
                called = other.languages.get(key)
                if called and (key == tag.replace("-", "_") or "_" not in tag.replace("-", "_")):
                    names.append(called)
        named[tag] = tuple(dict.fromkeys(names))
    return named
