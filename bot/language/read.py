"""A message and its moment -> the values in it."""

from __future__ import annotations

from datetime import datetime

from bot.language import amounts, clocks, days, numbers, ratios, recurrences
from bot.language.folding import clean
from bot.language.lexicon import Lexicon
from bot.language.pieces import Piece, Sheet, mend, pieces
from bot.language.reading import Reading, Token
from bot.language.tokens import tokens


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
    numbers.join(sheet)
    digits = any(piece.raw[:1].isdigit() for piece in sheet.pieces)
    if digits or any(piece.n is not None for piece in sheet.pieces):
        ratios.find(sheet)
    if not sheet.roles.isdisjoint(("each", "rate", "once", "interval", "habitual", "span")):
        recurrences.find_every(sheet)
    numbered = any(
        (piece.n is not None or piece.raw[:1].isdigit()) and not piece.used
        for piece in sheet.pieces
    )
    if numbered or not sheet.roles.isdisjoint(("clock", "shift")):
        clocks.find(sheet)
    dated = ("day", "weekday", "month", "span", "feast")
    if numbered or not sheet.roles.isdisjoint(dated):
        days.find(sheet, ref, _tense(words, sheet))
    if numbered or "and" in sheet.roles:
        amounts.find(sheet)
        amounts.find_counts(sheet)
    if "span" in sheet.roles:
        recurrences.find_durations(sheet)
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


__all__ = ["Piece", "read"]
