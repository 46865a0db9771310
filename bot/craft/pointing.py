"""Which barrels a member's words point at."""

from __future__ import annotations

from collections.abc import Sequence

from bot.craft.batches import Batch


def pointed(batches: Sequence[Batch], which: Sequence[str]) -> tuple[tuple[Batch, ...], str]:
    """The barrels that the words name, in the order named, and the first word that names none.

    A barrel is named by its short name (B2), its number (2), the name it was given, "all", or
    "big" and "small" where one is the largest or smallest.

    >>> barrels = [Batch("1", "B1", "g", "UTC", size_ml=200_000), Batch("2", "B2", "g", "UTC")]
    >>> [each.code for each in pointed(barrels, ("b2", "big"))[0]]
    ['B2', 'B1']
    """
    found: list[Batch] = []
    for word in which:
        named = _named(batches, word.strip().casefold())
        if not named:
            return tuple(found), word
        found.extend(each for each in named if each not in found)
    return tuple(found), ""


def _named(batches: Sequence[Batch], word: str) -> Sequence[Batch]:
    if word == "all":
        return batches
    by_code = [each for each in batches if each.code.casefold() in {word, f"b{word}"}]
    if by_code:
        return by_code
    by_name = [each for each in batches if each.name and each.name.casefold() == word]
    if by_name:
        return by_name
    sizes = sorted({each.size_ml for each in batches})
    if word in {"big", "small"} and len(sizes) > 1:
        wanted = sizes[-1] if word == "big" else sizes[0]
        return [each for each in batches if each.size_ml == wanted]
    return ()
