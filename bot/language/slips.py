"""A word of a message against the words of the templates: as written, by its beginning, mended."""

from __future__ import annotations

import re
from collections.abc import Container
from dataclasses import dataclass, field

from rapidfuzz.distance import OSA

AS_WRITTEN = 10
BY_PART = 9
DRAWN_OUT = 8
MENDED = 7

_RUN = re.compile(r"(.)\1{2,}")


@dataclass(slots=True)
class Slips:
    """The words that templates are made of, and how a typed word finds its way to one.

    A typed word that is none of them is mended within the same first letter: one slip from four
    letters on, two from eight (optimal string alignment distance), or the same consonants with
    vowels left out. A word in `steady` is another word of the language and never mended.
    """

    vowels: frozenset[str] = frozenset("aeiou")
    words: set[str] = field(default_factory=set)
    beginnings: set[str] = field(default_factory=set)
    ends: set[str] = field(default_factory=set)
    steady: Container[str] = frozenset()
    _by_first: dict[str, list[str]] = field(default_factory=dict)
    _by_bones: dict[str, str] = field(default_factory=dict)

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
        mended = self._mended(word)
        return self._plain(mended, MENDED, MENDED) if mended else ()

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

    def _mended(self, word: str) -> str:
        if len(word) < 4:
            return self._bare(word) if len(word) == 3 else ""
        allowed = 1 if len(word) < 8 else 2
        best, fewest = "", allowed + 1
        for other in self._by_first.get(word[0], ()):
            if abs(len(other) - len(word)) <= allowed and len(other) >= 4:
                slips = OSA.distance(word, other, score_cutoff=allowed)
                if slips < fewest:
                    best, fewest = other, slips
        return best or self._bare(word)

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
