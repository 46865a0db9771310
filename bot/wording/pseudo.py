"""Invented languages that show where words do not fit: long and accented, or right to left."""

from __future__ import annotations

import re
from collections.abc import Callable

from babel import Locale
from babel.messages.pofile import normalize

from bot.wording.catalogue import Catalogue, Entry, plural_rule

LONG = "en-XA"
"""Every letter accented, every sentence two fifths longer."""

RIGHT_TO_LEFT = "ar-XB"
"""Every letter Arabic, so the text runs from right to left; values stay as they are."""

_ACCENTED = str.maketrans("aceinosuyACEINOSUY", "áçéíñóšúýÁÇÉÍÑÓŠÚÝ")
_ARABIC = str.maketrans("abcdefghijklmnopqrstuvwxyz", "ابثدهفغحيجكلمنوبقرستعوخطزض")
_WORDS = "lorem ipsum dolor sit amet consectetur "


def catalogue(tag: str, english: Catalogue) -> str:
    """The text of a messages.po that says in the invented language all that English says."""
    change, like = (_long, "en") if tag == LONG else (_right_to_left, "ar")
    rule = plural_rule(Locale(like))
    forms = int(re.findall(r"nplurals=(\d+)", rule)[0])
    head = [
        'msgid ""',
        'msgstr ""',
        '"Content-Type: text/plain; charset=utf-8\\n"',
        f'"Plural-Forms: {rule}\\n"',
        f'"X-Locale: {like}\\n"',
        '"X-Reader: nobody, it is invented\\n"',
        "",
    ]
    body = [line for entry in english.entries for line in _entry(entry, change, forms)]
    return "\n".join(head + body)


def _entry(entry: Entry, change: Callable[[str], str], count: int) -> list[str]:
    key = normalize(entry.key)
    said = [normalize(_outside_places(form, change)) for form in entry.forms]
    if not entry.plural:
        return [f"msgid {key}", f"msgstr {said[0]}", ""]
    said += said[-1:] * (count - len(said))
    forms = [f"msgstr[{n}] {form}" for n, form in enumerate(said)]
    return [f"msgid {key}", f"msgid_plural {key}", *forms, ""]


def _outside_places(text: str, change: Callable[[str], str]) -> str:
    """The text changed everywhere but inside its {places}."""
    parts = re.split(r"(\{[^}]*\})", text)
    return "".join(part if part.startswith("{") else change(part) for part in parts)


def _long(text: str) -> str:
    words = text.translate(_ACCENTED)
    extra = (len(text) * 2 + 4) // 5 if text.strip() else 0
    return words + _WORDS[:extra].translate(_ACCENTED).rstrip()


def _right_to_left(text: str) -> str:
    return text.lower().translate(_ARABIC)
