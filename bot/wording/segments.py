"""How many SMS a text costs, where it splits, and its form in plain letters.

Two alphabets carry an SMS: the GSM 7 bit default alphabet (a few marks of its extension table cost
two), and UCS-2, which one character outside the first brings about for the whole text.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass

GSM_DEFAULT = (
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞ\x1bÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
"""The default alphabet in the order of its codes, 0x00 to 0x7F; 0x1B is the escape, no character.

Source: 3GPP TS 23.038, section 6.2.1.
"""

GSM_EXTENSION = {
    "\f": 0x0A,
    "^": 0x14,
    "{": 0x28,
    "}": 0x29,
    "\\": 0x2F,
    "[": 0x3C,
    "~": 0x3D,
    "]": 0x3E,
    "|": 0x40,
    "€": 0x65,
}
"""Characters sent as the escape and one more code. Source: 3GPP TS 23.038, section 6.2.1.1."""

ESCAPE = 0x1B
_CODES = {char: bytes([code]) for code, char in enumerate(GSM_DEFAULT) if code != ESCAPE} | {
    char: bytes([ESCAPE, code]) for char, code in GSM_EXTENSION.items()
}

PAYLOAD_OCTETS = 140
"""What one SMS carries. Source: 3GPP TS 23.040, section 9.2.3.16 (160 septets are 140 octets)."""

HEADER_OCTETS = 6
"""Length, element 00, its length 03, reference, total, part: the header of each part of several.

Source: 3GPP TS 23.040, section 9.2.3.24.1 (with a reference of 16 bits it is 7).
"""

MOST_PARTS = 255
"""The total is one octet. Source: 3GPP TS 23.040, section 9.2.3.24.1."""


def is_gsm(text: str) -> bool:
    """Whether every character is in the default alphabet or its extension table.

    >>> is_gsm("50 ml a plant, 3 €"), is_gsm("¿Está listo?")
    (True, False)
    """
    return all(char in _CODES for char in text)


def gsm_codes(text: str) -> bytes:
    """The text's codes in the default alphabet, one septet an octet, not packed.

    Raises:
        ValueError: a character is in neither table; the sentence names it.

    >>> gsm_codes("a€").hex()
    '611b65'
    """
    try:
        return b"".join(_CODES[char] for char in text)
    except KeyError as fault:
        raise ValueError(f"{fault.args[0]!r} is not in the GSM alphabet") from fault


def units(text: str) -> int:
    """The text's length as an SMS counts it: septets, or 16 bit units where it needs UCS-2.

    >>> units("abc"), units("3 €"), units("तैयार"), units("🌱")
    (3, 4, 5, 2)
    """
    return len(gsm_codes(text)) if is_gsm(text) else len(text.encode("utf-16-be")) // 2


def room(*, gsm: bool, header_octets: int = 0) -> int:
    """The units one SMS holds beside a header of so many octets.

    >>> room(gsm=True), room(gsm=True, header_octets=6), room(gsm=False, header_octets=6)
    (160, 153, 67)
    """
    octets = PAYLOAD_OCTETS - header_octets
    # A header is filled up to a septet boundary, so the division rounds down for both.
    return octets * 8 // 7 if gsm else octets // 2


def split(text: str, header_octets: int = HEADER_OCTETS) -> tuple[str, ...]:
    """The text in the parts it is sent in; one part where it fits, and for an empty text.

    No part ends between an escape and its code, nor within a surrogate pair. Joined, the parts are
    the text again.

    >>> [len(part) for part in split("a" * 161)]
    [153, 8]
    """
    gsm = is_gsm(text)
    if units(text) <= room(gsm=gsm):
        return (text,)
    return tuple(_parts(text, gsm=gsm, most=room(gsm=gsm, header_octets=header_octets)))


def _parts(text: str, *, gsm: bool, most: int) -> Iterator[str]:
    begun, used = 0, 0
    for at, char in enumerate(text):
        cost = len(_CODES[char]) if gsm else 1 + (ord(char) > 0xFFFF)
        if used + cost > most:
            yield text[begun:at]
            begun, used = at, 0
        used += cost
    yield text[begun:]


def segments(text: str) -> int:
    """How many SMS the text is paid for as.

    >>> segments("a" * 160), segments("a" * 161), segments("क" * 71)
    (1, 2, 2)
    """
    return len(split(text))


@dataclass(frozen=True, slots=True)
class Plain:
    """A text in plain letters: what it became, what was changed, what could not be.

    `changed` holds each (was, became) once, in order. `left` holds the characters that have no
    plain form; then nothing was changed, since the text goes in UCS-2 whatever else is done to it.
    """

    text: str
    changed: tuple[tuple[str, str], ...] = ()
    left: tuple[str, ...] = ()


_MARKS = {
    "\u00a0": " ", "\u2002": " ", "\u2003": " ", "\u2007": " ", "\u2009": " ", "\u202f": " ",
    "\t": " ", "\u200b": "", "\u200c": "", "\u200d": "", "\u2060": "", "\ufeff": "",
    "\u00ad": "", "\u200e": "", "\u200f": "", "\ufe0f": "",
    "‘": "'", "’": "'", "‚": ",", "′": "'", "`": "'", "´": "'", "ʼ": "'", "‹": "<", "›": ">",
    "“": '"', "”": '"', "„": '"', "″": '"', "«": '"', "»": '"',
    "‐": "-", "‑": "-", "‒": "-", "–": "-", "—": "-", "−": "-", "•": "-",
    "…": "...", "×": "x", "÷": "/", "±": "+/-", "≈": "~", "≤": "<=", "≥": ">=",
    "→": "->", "←": "<-", "✓": "OK", "º": "o", "ª": "a", "µ": "u", "μ": "u",
    "₹": "Rs", "№": "No",
    "œ": "oe", "Œ": "OE", "ł": "l", "Ł": "L", "đ": "d", "Đ": "D", "ħ": "h", "Ħ": "H",
    "ı": "i", "þ": "th", "Þ": "Th", "ð": "d", "Ð": "D", "ẞ": "SS", "ɓ": "b", "Ɓ": "B",
    "ɗ": "d", "Ɗ": "D", "ƙ": "k", "Ƙ": "K", "ŋ": "ng", "Ŋ": "Ng", "ɛ": "e", "Ɛ": "E",
    "ɔ": "o", "Ɔ": "O",
}  # fmt: skip
"""Signs and letters Unicode does not take apart, with the form a phone's keypad has for them.

Common practice, no source.
"""


def plain(text: str) -> Plain:
    """The text in the default alphabet, each letter without the marks that alphabet lacks.

    Amounts keep their meaning: a fraction stands apart from the digit before it, a power of a
    number gets its sign. Letters the alphabet has (ñ, é, ü …) stay.

    >>> plain("Mañana: 1½ l más").text
    'Mañana: 1 1/2 l mas'
    >>> plain("2 m² está").changed
    (('²', '2'), ('á', 'a'))
    >>> plain("तैयार — ok") == Plain("तैयार — ok", left=("त", "ै", "य", "ा", "र"))
    True
    """
    composed = unicodedata.normalize("NFC", text)
    out: list[str] = []
    changed: dict[tuple[str, str], None] = {}
    left: dict[str, None] = {}
    for at, char in enumerate(composed):
        if char in _CODES:
            out.append(char)
            continue
        became = _plain_form(char, before=composed[:at][-1:], after=composed[at + 1 : at + 2])
        if is_gsm(became):
            changed[char, became] = None
            out.append(became)
        else:
            left[char] = None
    if left:
        return Plain(text, left=tuple(left))
    return Plain("".join(out), tuple(changed))


def _plain_form(char: str, before: str, after: str) -> str:
    """The plain form of one character, or the character itself where there is none."""
    if char == "°":
        return "" if after in ("C", "F") else " deg"
    if char in _MARKS:
        return _MARKS[char]
    apart = unicodedata.normalize("NFKD", char).replace("\u2044", "/")
    kind = unicodedata.decomposition(char).partition(" ")[0]
    if kind in ("<fraction>", "<super>", "<sub>") and not apart.isalpha():
        # m² and CO₂ read right as they are; after a number a raised figure needs its sign.
        gap = {"<fraction>": " ", "<super>": "^"}.get(kind, "_") if before.isnumeric() else ""
        return gap + apart + (" " if after.isnumeric() else "")
    if kind in ("<wide>", "<font>"):
        return apart
    bare = "".join(part for part in apart if not unicodedata.combining(part))
    return bare if bare.isascii() and bare.isalpha() else char
