"""Typing slips mended and words that ran together taken apart, within a language's own words."""

from __future__ import annotations

from typing import Any

from rapidfuzz.distance import OSA
from rapidfuzz.process import extract

from bot.language.lexicon import Lexicon
from bot.language.reading import Token

_KEPT = 4096  # words remembered; a stream of nonsense cannot grow the memory past this
_LONGEST = 24
_NO_NUMBER = frozenset(("nan", "inf"))
"""What programs print for no number; never a slip of a number word."""

# The keys around each key of a phone's or computer's Latin layout, where fingers slip.
_ROWS = ("qwertyuiop", "asdfghjkl", "zxcvbnm")
_BESIDE = frozenset(
    a + b
    for row, below in zip(_ROWS, (*_ROWS[1:], ""), strict=True)
    for column, key in enumerate(row)
    for other in (row[column + 1 : column + 2], *below[max(0, column - 1) : column + 1])
    for a, b in ((key, other), (other, key))
    if other
)


_COUNTING = ("num", "fraction", "more", "multiple")
_NUMBERS = "numbers"
"""Where a lexicon's memory keeps its number words, once one was a slip."""

_TWO_NUMBERS = 6
"""Letters of the shortest two number words run together: sixdix, dosmil."""


def mend(tokens: list[Token], lexicon: Lexicon) -> list[Token]:
    """The tokens with run-together words apart and typing slips mended."""
    known = lexicon.known
    mended: list[Token] = []
    chosen: dict[tuple[object, ...], str] = {}
    for index, token in enumerate(tokens):
        if token.kind != "word" or token.word in known:
            mended.append(token)
            continue
        beside = bool(
            (mended and mended[-1].kind == "numeral")
            or (index + 1 < len(tokens) and tokens[index + 1].kind == "numeral")
        )
        apart = _apart(token, lexicon) if token.gap == "" and mended else None
        if apart:
            mended.extend(apart)
            continue
        numbers = _numbers_apart(token, lexicon) if len(token.word) >= _TWO_NUMBERS else None
        if numbers:
            mended.extend(numbers)
            continue
        meant = _meant(token.word, lexicon, beside=beside)
        if not meant:
            mended.append(token)
            continue
        after = tokens[index + 1] if index + 1 < len(tokens) else None
        key = (token.word, beside, *(t.word for t in mended[-2:]), after and after.word)
        if key not in chosen:
            word = _chosen(token.word, meant, mended[-2:], after, lexicon)
            chosen[key] = "" if word and _any_number(token.word, word, lexicon) else word
        word = chosen[key]
        mended.append(token._replace(word=word, slip=True) if word else token)
    return mended


def _chosen(
    typed: str,
    meant: tuple[str, ...],
    before: list[Token],
    after: Token | None,
    lexicon: Lexicon,
) -> str:
    """Of the words a slip may stand for the one that suits the words beside it; "" for none."""
    if len(meant) == 1 and len(typed) > 3:
        return meant[0]
    beside = _Beside(before, after, lexicon)
    suits = [beside.suits(word) for word in meant]
    best = max(range(len(meant)), key=suits.__getitem__)
    if len(typed) == 3 and suits[best] < 1 and not _amounts(meant[best], lexicon):
        return ""  # a short word is near too many to be any of them by itself
    return meant[best]


def _any_number(typed: str, word: str, lexicon: Lexicon) -> bool:
    """Whether a slip is as near to a number as to the one chosen: that would be a wrong amount."""
    value = _number(word, lexicon)
    if value is None:
        return False
    slips = OSA.distance(typed, word)
    others = lexicon.memory.get(_NUMBERS)
    if others is None:
        found = ((one, _number(one, lexicon)) for one in lexicon.phrases)
        others = lexicon.memory[_NUMBERS] = {one: n for one, n in found if n is not None}
    near = extract(typed, others.keys(), scorer=OSA.distance, score_cutoff=slips, limit=None)
    return any(others[one] != value for one, _, _ in near)


def _number(word: str, lexicon: Lexicon) -> tuple[str, Any] | None:
    """What a single word counts for, where it is a number."""
    for words, roles in lexicon.phrases.get(word, ()):
        if len(words) == 1:
            return next(((role, roles[role]) for role in _COUNTING if role in roles), None)
    return None


def _amounts(word: str, lexicon: Lexicon) -> bool:
    return word in lexicon.carrying or word in lexicon.amounts.get(word[0], ())


# What a word may be that stands behind, or before, a word of that role.
_NUMBER = frozenset(("num", "fraction", "more", "multiple"))
_COUNTED = (
    *("unit", "span", "noun", "oclock", "am", "pm", "month"),
    *("parts", "part", "fraction", "multiple"),
)
_BEHIND = {
    "numeral": _COUNTED,
    "num": (*_COUNTED, "num"),
    "of": ("unit", "noun", "span"),
    "at": ("num", "daypart", "clock"),
    "from": ("num", "unit"),
    "between": ("num", "unit"),
    "to": ("num",),
    "minus": ("num", "shift"),
    "past": ("num", "clock"),
    "until": ("num", "clock"),
    "each": ("span", "weekday", "daypart", "other", "num", "unit", "noun"),
    "span": ("ago", "after", "from_now", "old", "within_after", "once", "interval"),
    "weekday": ("last", "next", "daypart"),
    "day": ("daypart", "at"),
    "article": ("daypart", "weekday", "span", "unit", "noun"),
}
_JOINS = ("each", "at", "from", "between", "to", "in", "past", "until", "oclock", "dawn")
_BEFORE = {
    "numeral": (*_JOINS, "more", "ordinal_day", "month"),
    "num": _JOINS,
    "unit": ("num", "fraction", "more", "multiple", "part", "each", "per"),
    "noun": ("num", "fraction", "more", "multiple", "each", "per"),
    "span": ("num", "fraction", "more", "each", "next", "last", "this", "whole"),
    "part": ("num",),
    "fraction": ("num",),
    "multiple": ("num", "fraction"),
    "parts": ("num", "fraction", "more"),
    "oclock": ("num", "fraction", "more"),
    "weekday": ("each", "next", "last", "this"),
    "daypart": ("each", "day", "weekday", "this"),
    "ago": ("span",),
    "after": ("span",),
    "old": ("span",),
    "in": ("span",),
}
_AMOUNTS = frozenset(("unit", "noun", "span"))
_ALONE = frozenset(("day", "weekday", "clock"))
"""Roles of words that say something without another beside them."""


class _Beside:
    """What stands beside a slip, and so what the word may be."""

    def __init__(self, before: list[Token], after: Token | None, lexicon: Lexicon) -> None:
        """Before are the one or two words in front, already mended."""
        self.lexicon = lexicon
        self.after = after
        self.before = [tuple(t.word for t in before[k:]) for k in range(len(before))]
        first = lexicon.habits.unit_first
        self.behind: set[str] = set()
        self.ahead: set[str] = set()
        self.counted = False
        """Whether a number stands in front: then a day is not what was meant."""
        if before:
            around = _around(before[-1], lexicon)
            self.counted = around[:1] in (("num",), ("numeral",))
            self.behind.update(role for one in around for role in _BEHIND.get(one, ()))
            if first and not _AMOUNTS.isdisjoint(around):
                self.behind |= _NUMBER
        if after is not None:
            around = _around(after, lexicon)
            self.ahead.update(role for one in around for role in _BEFORE.get(one, ()))
            if first and around[:1] in (("num",), ("numeral",)):
                self.ahead |= _AMOUNTS

    def suits(self, word: str) -> int:
        """How well a word goes with the ones beside it: how many phrases and habits it keeps."""
        lexicon, after = self.lexicon, self.after
        suits = -1 if word in lexicon.lent else 0
        if after is not None and _begins((word, after.word), lexicon):
            suits += 2
        if any(_begins((*words, word), lexicon) for words in self.before):
            suits += 2
        roles = _roles(word, lexicon)
        if roles:
            suits += not (self.counted or _ALONE.isdisjoint(roles))
            suits += not self.behind.isdisjoint(roles)
            suits += not self.ahead.isdisjoint(roles)
            if after is not None and after.kind == "numeral" and "num" in roles:
                suits -= 1
        return suits


def _around(token: Token, lexicon: Lexicon) -> tuple[str, ...]:
    """The roles of a word beside a slip; every sort of number is one."""
    if token.kind == "numeral":
        return ("numeral",)
    roles = _roles(token.word, lexicon)
    return roles if _NUMBER.isdisjoint(roles) else ("num", *roles)


def _roles(word: str, lexicon: Lexicon) -> tuple[str, ...]:
    """The roles a word can play by itself."""
    for words, senses in lexicon.phrases.get(word, ()):
        if len(words) == 1:
            return tuple(senses)
    return ()


def _begins(words: tuple[str, ...], lexicon: Lexicon) -> bool:
    """Whether words begin a phrase of the list."""
    size = len(words)
    return any(phrase[:size] == words for phrase, _ in lexicon.phrases.get(words[0], ()))


def _apart(token: Token, lexicon: Lexicon) -> tuple[Token, Token] | None:
    """A unit run together with the next word (200lbarrel), as two tokens."""
    word = token.word
    if len(word) != len(token.text):
        return None
    for cut in range(min(len(word) - 3, 10), 0, -1):
        head, tail = word[:cut], word[cut:]
        if tail not in lexicon.known or head not in lexicon.phrases:
            continue
        if _says(head, "unit", lexicon):
            middle = token.start + cut
            return (
                token._replace(word=head, text=token.text[:cut], end=middle),
                token._replace(word=tail, text=token.text[cut:], start=middle),
            )
    return None


def _numbers_apart(token: Token, lexicon: Lexicon) -> list[Token] | None:
    """Number words run together (treintaicinco, vingtdeux), as a token each."""
    word = token.word
    if len(word) != len(token.text):
        return None
    for cut in range(len(word) - 3, 2, -1):
        if not _says(word[:cut], "num", lexicon):
            continue
        for start in range(cut, min(cut + 4, len(word) - 2)):
            joiner = word[cut:start]
            if _says(word[start:], "num", lexicon) and (
                not joiner or _says(joiner, "and", lexicon)
            ):
                places = ((0, cut), (cut, start), (start, len(word)))
                return [
                    token._replace(
                        word=word[first:last],
                        text=token.text[first:last],
                        start=token.start + first,
                        end=token.start + last,
                        gap=" " if first else token.gap,
                    )
                    for first, last in places
                    if first < last
                ]
    return None


def _says(word: str, role: str, lexicon: Lexicon) -> bool:
    """Whether a single word of the list plays a role."""
    return any(len(words) == 1 and role in roles for words, roles in lexicon.phrases.get(word, ()))


def _meant(word: str, lexicon: Lexicon, *, beside: bool) -> tuple[str, ...]:
    """The words of the list that a slip may stand for, as few slips away, the likelier first."""
    if not 3 <= len(word) <= _LONGEST or word in _NO_NUMBER:
        return ()
    key = (word, beside)
    if key in lexicon.memory:
        remembered: tuple[str, ...] = lexicon.memory[key]
        return remembered
    meant = _nearest(word, lexicon, beside=beside)
    if len(lexicon.memory) < _KEPT:
        lexicon.memory[key] = meant
    return meant


def _nearest(word: str, lexicon: Lexicon, *, beside: bool) -> tuple[str, ...]:
    short: list[str] = []
    if len(word) <= 4:
        short = [
            meant
            for meant in _short(word)
            if meant in lexicon.carrying
            and (len(meant) > 2 or beside)
            and meant not in lexicon.pairs
        ]
    words = lexicon.near.get(word[0], ())
    allowed = 1 if len(word) < 9 else 2
    close = extract(word, words, scorer=OSA.distance, score_cutoff=allowed, limit=12)
    if len(word) == 3:
        close = [match for match in close if len(match[0]) == 4]
    # The place in the list breaks ties: words that carry amounts come first.
    ranked = sorted(
        (distance, _unlikely(word, meant), place, meant)
        for meant, distance, place in close
        if meant not in lexicon.pairs and meant not in short
    )
    return (*short, *(meant for distance, _, _, meant in ranked if distance == ranked[0][0]))


def _short(word: str) -> list[str]:
    """A short word with one doubled letter single, or two letters in the other order."""
    single = [word[:k] + word[k + 1 :] for k in range(1, len(word)) if word[k] == word[k - 1]]
    swapped = [word[:k] + word[k + 1] + word[k] + word[k + 2 :] for k in range(1, len(word) - 1)]
    return single + swapped


def _unlikely(typed: str, meant: str) -> int:
    """0 for what fingers do most: two letters swapped, one doubled, the key beside; up to 3."""
    if len(typed) == len(meant):
        wrong = [(a, b) for a, b in zip(typed, meant, strict=True) if a != b]
        if len(wrong) == 2 and wrong[0] == wrong[1][::-1]:
            return 0
        return 0 if all(a + b in _BESIDE for a, b in wrong) else 3
    if len(typed) < len(meant):
        return 1
    place = next((k for k, (a, b) in enumerate(zip(typed, meant, strict=False)) if a != b), -1)
    doubled = typed[place] == typed[place - 1]
    return 0 if doubled else 2
