"""Which barrels a member's words point at.

What words of a language point at the largest or the oldest one is said in its word list.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from bot.craft.batches import Batch


def _size(batch: Batch) -> float:
    return batch.size_ml


def _started(batch: Batch) -> float:
    return batch.started_at.timestamp() if batch.started_at else 0


BESIDE_OTHERS: Mapping[str, tuple[Callable[[Batch], float], bool]] = {
    "largest": (_size, True),
    "smallest": (_size, False),
    "oldest": (_started, False),
    "newest": (_started, True),
}
"""What a barrel may be beside the others: by which measure, and whether the most of it is meant."""


def pointed(batches: Sequence[Batch], which: Sequence[str]) -> tuple[tuple[Batch, ...], str]:
    """The barrels that the words name, in the order named, and the first word that names none.

    A barrel is named by its short name (B2), its number (2), the name it was given, "all", or
    by what it alone is: "largest", "smallest", "oldest" (started first), "newest". A lone barrel is
    all of these.

    >>> barrels = [Batch("1", "B1", "g", "UTC", size_ml=200_000), Batch("2", "B2", "g", "UTC")]
    >>> [each.code for each in pointed(barrels, ("b2", "largest"))[0]]
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
    if word not in BESIDE_OTHERS:
        return ()
    if len(batches) == 1:
        return batches
    measure, last = BESIDE_OTHERS[word]
    ordered = sorted((each for each in batches if measure(each)), key=measure, reverse=last)
    alone = len(ordered) > 1 and measure(ordered[0]) != measure(ordered[1])
    return ordered[:1] if alone or len(ordered) == 1 else ()
