"""Typing slips mended and words that ran together taken apart, within a language's own words."""

from __future__ import annotations

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


def mend(tokens: list[Token], lexicon: Lexicon) -> list[Token]:
    """The tokens with run-together words apart and typing slips mended."""
    known = lexicon.known
    mended: list[Token] = []
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
        meant = _meant(token.word, lexicon, beside=beside)
        if not meant:
            mended.append(token)
            continue
        following = tokens[index + 1].word if index + 1 < len(tokens) else ""
        word = next((m for m in meant if _begins(m, following, lexicon)), meant[0])
        mended.append(token._replace(word=word, slip=True))
    return mended


def _begins(word: str, following: str, lexicon: Lexicon) -> bool:
    """Whether two words begin a phrase of the list."""
    return any(
        len(words) > 1 and words[1] == following for words, _ in lexicon.phrases.get(word, ())
    )


def _apart(token: Token, lexicon: Lexicon) -> tuple[Token, Token] | None:
    """A unit run together with the next word (200lbarrel), as two tokens."""
    word = token.word
    if len(word) != len(token.text):
        return None
    for cut in range(min(len(word) - 3, 10), 0, -1):
        head, tail = word[:cut], word[cut:]
        if tail not in lexicon.known or head not in lexicon.phrases:
            continue
        if any(len(words) == 1 and "unit" in roles for words, roles in lexicon.phrases[head]):
            middle = token.start + cut
            return (
                token._replace(word=head, text=token.text[:cut], end=middle),
                token._replace(word=tail, text=token.text[cut:], start=middle),
            )
    return None


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
    if len(word) <= 4:
        for meant in _short(word):
            if meant in lexicon.carrying and (len(meant) > 2 or beside):
                return (meant,)
    words = (lexicon.amounts if len(word) == 3 else lexicon.near).get(word[0], ())
    allowed = 1 if len(word) < 9 else 2
    close = extract(word, words, scorer=OSA.distance, score_cutoff=allowed, limit=12)
    if len(word) == 3:
        close = [match for match in close if len(match[0]) == 4]
    # The place in the list breaks ties: words that carry amounts come first.
    ranked = sorted(
        (distance, _unlikely(word, meant), place, meant) for meant, distance, place in close
    )
    return tuple(meant for distance, _, _, meant in ranked if distance == ranked[0][0])


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
