"""A message cut into words, numerals and marks, by one expression a decimal habit."""

from __future__ import annotations

import re
import sys
import unicodedata
from collections.abc import Container, Iterable
from functools import lru_cache

from bot.language.folding import fold
from bot.language.reading import Token

CAP_TOKENS = 120
"""What is read of one message; a plain one of 480 characters has fewer."""

VULGAR = "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒"


def _ranges(codes: Iterable[int]) -> str:
    """A character class of these codes, neighbours as one range: shorter is quicker to compile."""
    found: list[list[int]] = []
    for code in codes:
        if found and found[-1][1] == code - 1:
            found[-1][1] = code
        else:
            found.append([code, code])
    return "".join(f"\\u{low:04x}-\\u{high:04x}" for low, high in found)


# Letters join with the marks above, below and after them, which \w leaves out.
_MARKS = _ranges(
    code for code in range(0x0300, 0x2000) if unicodedata.category(chr(code)) in ("Mn", "Mc")
)

_SKIP = (
    r"(?:https?://|www\.)\S+|[\w.+-]+@\w[\w.-]*\.\w+"  # addresses
    r"|\+\d[\d ()-]{6,20}\d|(?<![\d.,])(?:0\d{8,}|\d{10,})(?![\d.,]|\s?[^\W\d_])"  # phone numbers
    rf"|\d+(?:[.,]\d+)?e[+-]?\d+(?!\w)|\d*[{VULGAR}]{{2,}}"  # 1e400, ½½
    r"|(?<![\d.,:/-])0\d{2,4}(?:[ -]\d{2,4}){2,3}(?![\d:/-])"
    r"|(?<![\d:/-])\d{3}[ -]\d{2,4}[ -]\d{2}-?\d{2,4}(?![\d:/-])"
    r"|(?<![^\W\d_])(?:[^\W\d_]{2,}-)+\d{4,}(?:-\w+)+"
)
_NUMERAL = rf"(?:\d+(?:[.,]\d+)*|(?<![\d\w])[.,]\d+)(?:[{VULGAR}])?|[{VULGAR}]"
_SPACED = r"\d{1,3}(?:[ \u00a0]\d{3})+(?![\d.])(?:,\d+)?(?![.,:/-]?\d)|"
_NARROW = r"\d{1,3}(?:(?:\u00a0\d{3})+|(?: \d{3}){2,})(?!\d)(?:[.,]\d+)?|"
_POWER = r"(?<![^\W\d_])(?:[kcmd]?m|ft|yd|mi|in)(?:\^?[23]|\s?[²³])(?![\d\w])"
_CODE = r"(?<![\w])[^\W\d_]{1,12}\d\w*"
_MARK = r"''|[:/+%°º=×*~@\"'″′₹$€£#-]"


_WORD = rf"[^\W\d_]+(?:[{_MARKS}]+[^\W\d_]*)*"
_WORDS = re.compile(_WORD)
_PLAIN_WORDS = re.compile("[a-z]+")


def bare_words(text: str) -> set[str]:
    """The folded words of a text, and nothing else of it.

    >>> sorted(bare_words("(leaf|Foliar) spray*"))
    ['foliar', 'leaf', 'spray']
    """
    if text.isascii():
        words = set(_PLAIN_WORDS.findall(text.lower()))
    else:
        words = set(map(fold, set(_WORDS.findall(text))))
    return set(map(sys.intern, words))


@lru_cache(maxsize=2)
def _expression(*, spaced: bool) -> re.Pattern[str]:
    groups = _SPACED if spaced else _NARROW
    return re.compile(
        rf"(?P<skip>{_SKIP})|(?P<power>{_POWER})|(?P<numeral>{groups}{_NUMERAL})"
        rf"|(?P<code>{_CODE})|(?P<word>{_WORD})|(?P<mark>{_MARK})",
        re.IGNORECASE,
    )


def _gap(between: str) -> str:
    if "," in between or ";" in between or "(" in between or ")" in between:
        return ","
    if "\n" in between or any(stop in between for stop in ".!?।"):
        return "."
    return " " if between.isspace() else "-"


def tokens(text: str, *, spaced: bool = False, known: Container[str] = frozenset()) -> list[Token]:
    """The tokens of a cleaned message, at most `CAP_TOKENS`.

    `spaced` says that a space groups thousands (1 500 litres). `known` words come apart from
    digits that follow them (lita20); other letters and digits are a name (B2).

    >>> [token.word for token in tokens("3x16l, ½ Acre")]
    ['3', 'x', '16', 'l', '½', 'acre']
    """
    found: list[Token] = []
    last = 0
    for match in _expression(spaced=spaced).finditer(text):
        kind = match.lastgroup or "mark"
        start, end = match.span()
        typed = text[start:end]
        gap = text[last:start]
        if gap not in ("", " "):
            gap = _gap(gap)
        if kind == "word":  # most of a message; interned, so that look-ups compare pointers
            found.append(Token(sys.intern(fold(typed)), typed, start, end, gap, kind))
            last = end
            if len(found) >= CAP_TOKENS:
                break
            continue
        if kind == "mark":
            typed = _mark(typed, found, gap, text, end)
            if not typed:
                continue
        if kind == "power":
            word = "".join(typed.split()).replace("²", "2").replace("³", "3").replace("^", "")
            found.append(Token(fold(word), typed, start, end, gap, "word"))
        elif kind == "numeral":
            word = typed if typed.isascii() else _digits(typed)
            found.append(Token(word, typed, start, end, gap, kind))
        elif kind == "code":
            _split_code(found, typed, start, gap, known)
        else:
            found.append(Token(fold(typed), typed, start, end, gap, kind))
        last = end
        if len(found) >= CAP_TOKENS:
            break
    return found


def _mark(mark: str, before: list[Token], gap: str, text: str, end: int) -> str:
    """The mark, or nothing where it only joins words."""
    follows = text[end : end + 1]
    after_numeral = bool(before) and before[-1].kind == "numeral"
    if mark in "'′":
        return mark if after_numeral and gap == "" and not follows.isalpha() else ""
    if mark in ('"', "″", "''"):
        return '"' if after_numeral and gap == "" else ""
    if mark == "-":
        if not (follows.isdigit() or follows == " "):
            return ""
        return mark if after_numeral or (follows.isdigit() and (gap != "" or not before)) else ""
    return {"º": "°", "×": "x", "*": "x"}.get(mark, mark)


def _digits(typed: str) -> str:
    return "".join(c if c in VULGAR else fold(c) for c in typed)


def _split_code(
    found: list[Token], typed: str, start: int, gap: str, known: Container[str]
) -> None:
    split = re.fullmatch(r"([^\W\d_]{2,})(\d{1,6})", typed)
    letters, digits = split.groups() if split else ("", "")
    if not letters or fold(letters) not in known:
        found.append(Token(fold(typed), typed, start, start + len(typed), gap, "code"))
        return
    middle = start + len(letters)
    found.append(Token(sys.intern(fold(letters)), letters, start, middle, gap, "word"))
    found.append(Token(_digits(digits), digits, middle, middle + len(digits), "", "numeral"))
