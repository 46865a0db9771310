"""A message and its moment -> the values in it."""

from __future__ import annotations

from datetime import datetime

from bot.language import amounts, clocks, counts, days, durations, numbers, ratios, recurrences
from bot.language.folding import clean
from bot.language.lexicon import Lexicon
from bot.language.mending import mend
from bot.language.pieces import Sheet, pieces
from bot.language.reading import Reading, Token
from bot.language.tokens import tokens

# Without one of these a message holds nothing of the kind, and its rules need not look.
_MARKS = frozenset(":+/-")
_RATIO = frozenset(("parts", "in", "out_of", "to"))
_OFTEN = frozenset(("each", "rate", "once", "interval", "habitual", "span", "times", "twice"))
_CLOCK = frozenset(
    ("at", "oclock", "am", "pm", "daypart", "clock", "shift", "past", "until")
).union(("half_hour", "half_before", "minus", "month", "about"))
_DATE = frozenset(
    ("day", "weekday", "month", "span", "feast", "suffix", "on", "on_after", "ordinal_day")
)


def _dotted(sheet: Sheet) -> bool:
    return any(piece.n is None and "." in piece.raw for piece in sheet.pieces)


def read(text: str, lexicon: Lexicon, ref: datetime) -> Reading:
    """The tokens of a message and the values in it; `ref` is when it was sent, in wall time.

    Whatever the message holds, this ends and raises nothing: what is not understood is a token
    without a mention. The text is cut at 480 characters.

    >>> from bot.language.lexicon import load
    >>> reading = read("3 tanks of 16 l tomorrow", load("en"), datetime(2026, 3, 1, 8))
    >>> [(mention.kind, str(mention.value)[-11:]) for mention in reading.mentions][2]
    ('date', '2026-03-02')
    """
    cleaned, cut = clean(text)
    words = tokens(cleaned, spaced=lexicon.habits.spaced_thousands, known=lexicon.known)
    words = mend(words, lexicon)
    sheet = Sheet(pieces(words, lexicon), lexicon)
    roles = sheet.roles
    marks = {piece.raw for piece in sheet.pieces if piece.raw in _MARKS}
    numbers.join(sheet)
    if not (marks.isdisjoint(":+/-") and roles.isdisjoint(_RATIO)):
        ratios.find(sheet)
    if not roles.isdisjoint(_OFTEN):
        recurrences.find_every(sheet)
    numbered = any(
        (piece.n is not None or piece.raw[:1].isdigit()) and not piece.used
        for piece in sheet.pieces
    )
    alone = len(sheet.pieces) == 1
    if ":" in marks or not roles.isdisjoint(_CLOCK) or (numbered and alone):
        clocks.find(sheet)
    if (numbered and (marks or alone or _dotted(sheet))) or not roles.isdisjoint(_DATE):
        days.find(sheet, ref, _tense(words, sheet))
    if numbered or "and" in roles:
        amounts.find(sheet)
        counts.find(sheet)
    if "span" in roles:
        durations.find(sheet)
    if numbered:
        amounts.find_numbers(sheet)
    sheet.mentions.sort(key=lambda mention: (mention.start, -mention.end))
    return Reading(cleaned, tuple(words), tuple(sheet.mentions), cut)


def _tense(words: list[Token], sheet: Sheet) -> str:
    """past, future or nothing, by the words and verb endings of the message."""
    roles = sheet.roles
    if "past" in roles:
        return "past"
    if "future" in roles:
        return "future"
    suffixes = sheet.lexicon.suffixes
    for tense in ("future", "past"):
        endings, heads = suffixes.get(tense, ()), suffixes.get(f"{tense}_start", ())
        for token in words:
            word = token.text.lower()
            if len(word) >= 5 and (
                (endings and word.endswith(endings)) or (heads and word.startswith(heads))
            ):
                return tense
    return ""


__all__ = ["read"]
