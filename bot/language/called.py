"""What a group has named, and its barrels, by code, number or as they were described."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from bot.language.cues import parted
from bot.language.mark import Mark
from bot.language.reading import Reading

WEAK = frozenset({"number", "ordinal", "unit", "vessel"})
"""Marks that give way to a barrel on the same words."""
COUNTING = frozenset({"date", "time", "count:barrel", "count:tank"})
"""Marks that give way to a word for all barrels: los dos."""
_CODE = re.compile(r"[a-z]\d{1,2}")
POINTED = frozenset({"largest", "smallest", "oldest", "newest"})
"""Barrels pointed at by what they are beside the others: what a word list says for each."""


def of_names(
    reading: Reading,
    names: Mapping[str, tuple[str, ...]],
) -> list[Mark]:
    """Barrels, crops, plots, members and recipes the group has named, wherever they stand."""
    if not names:
        return []
    words = [token.word for token in reading.tokens]
    typed = [token.text.casefold() for token in reading.tokens]
    found = []
    for kind, called in names.items():
        for name in called:
            parts = list(parted(name))
            length = len(parts)
            for start in range(len(words) - length + 1) if parts else ():
                if words[start : start + length] == parts or typed[start : start + length] == parts:
                    which = kind == "barrel"
                    found.append(
                        Mark(
                            ("which", "code") if which else (kind,),
                            (name,) if which else name,
                            start,
                            start + length,
                        )
                    )
    return found


def of_barrels(
    reading: Reading,
    pointing: Sequence[tuple[str, int, int]],
    found: Sequence[Mark],
    names: Sequence[str],
) -> list[Mark]:
    """Barrels by code, by number behind a word for barrel, by `all`, or as they were described."""
    tokens = reading.tokens
    numbers = {mark.start: mark for mark in found if mark.types[0] in {"number", "ordinal"}}
    called = {name[1:]: name for name in names if _CODE.fullmatch(name.lower())}
    # Where the noun stands first, "pipa 2" is read as a count: one barrel's number all the same.
    counted = {
        mark.start: mark
        for mark in found
        if mark.types[0] in {"count:barrel", "count:tank"}
        and mark.value.noun in {"barrel", "drum", "batch"}
        and reading.tokens[mark.start].kind == "word"
        and reading.tokens[mark.end - 1].kind == "numeral"
        and mark.value.n == mark.value.n.to_integral_value()
    }
    taken = [mark for mark in found if mark.types[0] not in WEAK]
    fresh: list[Mark] = []

    def add(value: str, start: int, end: int, sort: str = "code") -> None:
        mark = Mark(("which", sort), (value,), start, end)
        strong = [one for one in taken if one.types[0] not in COUNTING]
        others = (*strong, *fresh) if sort in {"all", "noun"} else (*taken, *fresh)
        if not any(mark.overlaps(other) for other in others):
            fresh.append(mark)

    for place, token in enumerate(tokens):
        if _CODE.fullmatch(token.text.lower()):
            add(token.text.upper(), place, place + 1)
        elif (
            place + 1 < len(tokens)
            and len(token.text) == 1
            and token.text.isalpha()
            and tokens[place + 1].gap in {"", "-"}
            and _CODE.fullmatch(token.text.lower() + tokens[place + 1].word)
        ):
            add(token.text.upper() + tokens[place + 1].word, place, place + 2)
    for sort, start, end in sorted(pointing, key=lambda found: found[1] - found[2]):
        if sort == "all" or sort in POINTED:
            add(sort, start, end, "all" if sort == "all" else "thing")
        elif sort == "thing":
            add(reading.text[tokens[start].start : tokens[end - 1].end], start, end, sort)
        elif sort == "noun" and start in counted:
            plain = _plain(counted[start].value.n)
            add(called.get(plain, plain), start, counted[start].end, "noun")
        elif sort == "noun" and end in numbers:
            number = numbers[end]
            plain = _plain(number.value)
            add(called.get(plain, plain), start, number.end)
    return fresh


def _plain(number: Any) -> str:
    return str(int(number)) if number == int(number) else str(number)
