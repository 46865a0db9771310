"""Spellings made alike: one form for every way a phone may write the same word."""

from __future__ import annotations

import re
import unicodedata

CAP_CHARACTERS = 480
"""What is read of one message: three SMS of plain text. The rest is left unread."""

_KEPT = 4096  # folds remembered; hostile text cannot grow the table past this
_INDIC = range(0x0900, 0x0E00)
_NUKTAS = frozenset((0x093C, 0x09BC, 0x0A3C, 0x0ABC, 0x0B3C))
# A nasal before a consonant may be written in full or as a dot: घण्टा, घंटा.
_SLIPPED_RATIO = re.compile(r"(?<=\b1);(?=\d)")
_HALF_NASAL = re.compile("[ङञणनम]्(?=[क-ह])")


class _Folds(dict[int, str]):
    """Folds of single characters, made when first met."""

    def __missing__(self, code: int) -> str:
        char = chr(code)
        digit = unicodedata.decimal(char, None)
        if digit is not None:
            fold = str(digit)
        elif code in _NUKTAS or 0x0300 <= code <= 0x036F:
            fold = ""
        elif code == 0x0901:  # chandrabindu and anusvara are typed for one another
            fold = "ं"
        elif code in _INDIC:
            fold = "".join(c for c in unicodedata.normalize("NFD", char) if ord(c) not in _NUKTAS)
        else:
            parts = unicodedata.normalize("NFKD", char.lower())
            fold = "".join(c for c in parts if not unicodedata.combining(c)).replace("⁄", "/")
        if len(self) < _KEPT:
            self[code] = fold
        return fold


class _Clean(dict[int, "str | None"]):
    """Controls become spaces; what has no width goes."""

    def __missing__(self, code: int) -> str | None:
        kind = unicodedata.category(chr(code))
        clean = {"Cf": None, "Cc": " ", "Zs": " ", "Cs": " "}.get(kind, chr(code))
        if code in (0x00A0, 0x202F, 0x2009):  # group thousands in print, so they stay apart
            clean = "\u00a0"
        if code == 0x0A:
            clean = "\n"
        if code == 0x00BA:  # the masculine ordinal sign stands in for the degree sign
            clean = "°"
        if len(self) < _KEPT:
            self[code] = clean
        return clean


_FOLDS = _Folds()
_CLEAN = _Clean()


def clean(text: str) -> tuple[str, bool]:
    r"""The message as it is read, and whether it was cut: composed, no controls, capped.

    >>> clean("2\u200b tanks\x00")
    ('2 tanks ', False)
    """
    cut = len(text) > CAP_CHARACTERS
    if cut:
        text = text[:CAP_CHARACTERS]
    if ";" in text:  # the key beside the one that was meant
        text = _SLIPPED_RATIO.sub(":", text)
    if not (text.isascii() and text.isprintable()):
        text = unicodedata.normalize("NFC", text).translate(_CLEAN)
    return text, cut


def fold(word: str) -> str:
    """One spelling of a word: lower case, no accents or nuktas, digits 0-9.

    >>> fold("Mañana"), fold("१६"), fold("ज़रा")
    ('manana', '16', 'जरा')
    """
    if word.isascii():
        return word.lower()
    folded = word.lower().translate(_FOLDS)
    return _HALF_NASAL.sub("ं", folded) if "्" in folded else folded
