"""A word of a message against the words of the templates: as written, by its beginning, mended."""

from __future__ import annotations

import re
from collections.abc import Container
from dataclasses import dataclass, field

from rapidfuzz.distance import OSA
from rapidfuzz.process import extract

AS_WRITTEN = 10
BY_PART = 9
DRAWN_OUT = 8
MENDED = 7
MENDED_PART = 6
SHORT = 4
"""A mended word of two or three letters: near too many to say anything by itself."""

_MOST = 6
"""How many words one slip may stand for; the template shows which it was."""

_RUN = re.compile(r"(.)\1{2,}")


@dataclass(slots=True)
class Slips:
    """The words that templates are made of, and how a typed word finds its way to one.

    A typed word that is none of them is mended within the same first letter: one slip, two from
    eight letters on (optimal string alignment distance), or the same consonants with vowels left
    out. As near words are all kept: the rest of the template says which was meant. A word in
    `steady` is another word of the language and never mended.
    """

    vowels: frozenset[str] = frozenset("aeiou")
    words: set[str] = field(default_factory=set)
    beginnings: set[str] = field(default_factory=set)
    ends: set[str] = field(default_factory=set)
    steady: Container[str] = frozenset()
    _by_first: dict[str, list[str]] = field(default_factory=dict)
    _by_bones: dict[str, str] = field(default_factory=dict)
    _parts: dict[str, list[tuple[str, bool]]] = field(default_factory=dict)
    """Beginnings of four letters and more by their first letter, ends by their last."""

    def add(self, word: str) -> None:
        """Take in one word of a template: `stirred`, `stir*` or `*koroga`."""
        if word.endswith("*"):
            self.beginnings.add(word[:-1])
        elif word.startswith("*"):
            self.ends.add(word[1:])
        else:
            self.words.add(word)

    def ready(self) -> None:
        """Sort what was taken in, so that a slip always finds the same word."""
        self._by_first.clear()
        self._by_bones.clear()
        self._parts.clear()
        for part in sorted(self.beginnings):
            if len(part) >= 4:
                self._parts.setdefault(part[0], []).append((part, True))
        for part in sorted(self.ends):
            if len(part) >= 4:
                self._parts.setdefault(part[-1], []).append((part, False))
        for word in sorted(self.words):
            self._by_first.setdefault(word[0], []).append(word)
            bones = self._bones(word) if len(word) >= 4 else ""
            if bones:
                self._by_bones.setdefault(bones, word)

    def symbols(self, word: str) -> tuple[tuple[str, int], ...]:
        """What a word may stand for in a template, best first, and how well."""
        found = self._plain(word, AS_WRITTEN, BY_PART)
        if found or not word or word in self.steady or not word[0].isalpha():
            return found
        if _RUN.search(word):
            for short in (_RUN.sub(r"\1", word), _RUN.sub(r"\1\1", word)):
                found = self._plain(short, DRAWN_OUT, DRAWN_OUT)
                if found:
                    return found
        return self._mended(word) or self._mended_part(word)

    def _plain(self, word: str, whole: int, part: int) -> tuple[tuple[str, int], ...]:
        found = [(word, whole)] if word in self.words else []
        found += [
            (word[:end] + "*", part)
            for end in range(len(word), 1, -1)
            if word[:end] in self.beginnings
        ]
        found += [
            ("*" + word[begin:], part)
            for begin in range(len(word) - 1)
            if word[begin:] in self.ends
        ]
        return tuple(found)

    def _mended(self, word: str) -> tuple[tuple[str, int], ...]:
        """The words as few slips away, each as a template may have it."""
        allowed = 1 if len(word) < 8 else 2
        close = [
            (distance, other)
            for other, distance, _ in extract(
                word,
                self._by_first.get(word[0], ()),
                scorer=OSA.distance,
                score_cutoff=allowed,
                limit=_MOST * 2,
            )
            if _may_be(word, other)
        ]
        fewest = min(close)[0] if close else 0
        words = [other for distance, other in close if distance == fewest][:_MOST]
        if not words and len(word) >= 3:
            bare = self._bare(word)
            return self._plain(bare, MENDED, MENDED) if bare else ()
        worth = SHORT if len(word) <= 3 else MENDED
        return tuple(symbol for other in words for symbol in self._plain(other, worth, worth))

    def _mended_part(self, word: str) -> tuple[tuple[str, int], ...]:
        """A beginning or an end with one slip in it."""
        if len(word) < 5:
            return ()
        found = []
        for part, begins in (*self._parts.get(word[0], ()), *self._parts.get(word[-1], ())):
            for size in (len(part), len(part) + 1, len(part) - 1):
                piece = word[:size] if begins else word[-size:]
                if piece[0 if begins else -1] == part[0 if begins else -1] and (
                    OSA.distance(piece, part, score_cutoff=1) <= 1
                ):
                    found.append((part + "*" if begins else "*" + part, MENDED_PART))
                    break
        return tuple(dict.fromkeys(found))[:_MOST]

    def _bare(self, word: str) -> str:
        """The longer word that was typed without its vowels, or ""."""
        other = self._by_bones.get(self._bones(word), "")
        left = sum(letter in self.vowels for letter in word[1:])
        return other if len(word) < len(other) and left <= 1 else ""

    def _bones(self, word: str) -> str:
        """The first letter and the consonants after it, doubled ones once; "" if too few."""
        bones = word[0]
        for letter in word[1:]:
            if letter not in self.vowels and letter != bones[-1]:
                bones += letter
        return bones if len(bones) >= 3 else ""


def _may_be(word: str, other: str) -> bool:
    """Whether a typed word is long enough to be a slip of another, one slip away."""
    if len(word) >= 4:
        return len(other) >= 4 or (len(word) == 4 and _doubled(word, other))
    return len(other) in (len(word), len(word) + 1) and len(other) >= 3


def _doubled(word: str, other: str) -> bool:
    """Whether one letter of another word was typed twice."""
    return any(
        word[place] == word[place - 1] and word[:place] + word[place + 1 :] == other
        for place in range(1, len(word))
    )
