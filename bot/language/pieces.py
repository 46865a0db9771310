"""Tokens grouped into the longest phrases the lexicon knows, typing slips mended on the way."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from bot.facts import Mention
from bot.language.lexicon import Lexicon
from bot.language.numerals import numeral
from bot.language.reading import Token

_NOTHING: Mapping[str, Any] = MappingProxyType({})


class Piece:
    """A phrase or numeral of a message and what it can mean; `used` once a mention holds it."""

    __slots__ = ("end", "gap", "n", "raw", "senses", "start", "used")

    def __init__(
        self,
        start: int,
        end: int,
        senses: Mapping[str, Any],
        gap: str,
        *,
        n: Decimal | None = None,
        raw: str = "",
    ) -> None:
        """A piece over tokens `start` to `end`; `n` is its number, `raw` the numeral or word."""
        self.start = start
        self.end = end
        self.senses = senses
        self.gap = gap
        self.n = n
        self.raw = raw
        self.used = False

    def has(self, role: str) -> bool:
        """Whether the phrase can play a role and is still free."""
        return role in self.senses and not self.used


END = Piece(-1, -1, _NOTHING, ".")
"""What stands before the first and after the last piece."""
END.used = True
_PADDING = (END,) * 12


class Sheet:
    """The pieces of one message and the mentions found so far: what the rules read and write."""

    __slots__ = ("at", "lexicon", "mentions", "pieces", "roles")

    at: Callable[[int], Piece]
    """The piece at an index; `END` a few places before the first and after the last."""

    def __init__(self, pieces: list[Piece], lexicon: Lexicon) -> None:
        """A sheet with nothing found yet."""
        self.lexicon = lexicon
        self.mentions: list[Mention] = []
        self.roles: set[str] = set()
        for piece in pieces:
            self.roles.update(piece.senses)
        self.lay(pieces)

    def lay(self, pieces: list[Piece]) -> None:
        """Put other pieces in the place of those that are there."""
        self.pieces = pieces
        # Padded, so that a rule may look past either end: index -1 is the last, an END.
        self.at = [*pieces, *_PADDING].__getitem__

    def free(self, index: int, role: str) -> bool:
        """Whether a piece is there, is free and can play a role."""
        piece = self.at(index)
        return role in piece.senses and not piece.used

    def number(self, index: int) -> Decimal | None:
        """The free number there, if it is one."""
        piece = self.at(index)
        return None if piece.used else piece.n

    def past(self, index: int, role: str) -> int:
        """The index after a free piece of that role, or the same index."""
        return index + 1 if self.free(index, role) else index

    def found(self, kind: str, value: Any, first: int, end: int) -> None:
        """Record a mention over pieces `first` to `end` (exclusive) and use them up."""
        for piece in self.pieces[first:end]:
            piece.used = True
        start, stop = self.pieces[first].start, self.pieces[end - 1].end
        self.mentions.append(Mention(kind, value, start, stop))

    def aside(self, kind: str, value: Any, first: int, end: int) -> None:
        """Record a mention that lies over another, and uses nothing up."""
        start, stop = self.pieces[first].start, self.pieces[end - 1].end
        self.mentions.append(Mention(kind, value, start, stop))


def pieces(tokens: list[Token], lexicon: Lexicon) -> list[Piece]:
    """The longest phrases, left to right; every token is in exactly one piece."""
    found: list[Piece] = []
    phrases = lexicon.phrases
    index, length = 0, len(tokens)
    while index < length:
        token = tokens[index]
        if token.kind == "numeral":
            value = numeral(token.word, lexicon.habits.decimal)
            found.append(Piece(index, index + 1, _NOTHING, token.gap, n=value, raw=token.word))
            index += 1
            continue
        taken, senses = 1, _NOTHING
        for words, roles in phrases.get(token.word, ()):
            size = len(words)
            if size == 1 or (
                index + size <= length
                and all(tokens[index + k].word == words[k] for k in range(1, size))
            ):
                taken, senses = size, roles
                break
        found.append(Piece(index, index + taken, senses, token.gap, raw=token.word))
        index += taken
    return found
