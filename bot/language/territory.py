"""Which language a country's people are likely to write: a guess, to be confirmed."""

from __future__ import annotations

from collections.abc import Iterable

from babel.languages import get_territory_language_info


def likely(country: str, known: Iterable[str]) -> str:
    """The known language that most people of a country use, or "" where none of them is used.

    `country` is its two letter code. A language in another script than its usual one (hi-Latn)
    is never guessed.

    Source: CLDR, territoryInfo (population of each language in per cent), through Babel.

    >>> likely("KE", ["en", "hi", "sw"]), likely("GT", ["en", "es"]), likely("XX", ["en"])
    ('sw', 'es', '')
    """
    spoken = get_territory_language_info(country)
    used = [(spoken[tag]["population_percent"], tag) for tag in known if tag in spoken]
    return max(used, key=lambda one: (one[0], one[1]))[1] if used else ""
