"""What was read in a message before anyone asks what it is for: its tokens and the values in it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from bot.facts import Mention


class Token(NamedTuple):
    """One word, numeral or mark of a message.

    `word` is folded (lower case, no accents, native digits as 0-9) and, where a typing slip was
    mended, the word that was meant; `text` is what was typed. `start` and `end` are offsets into
    `Reading.text`. `gap` is what stood before it: "" nothing, " " a space, "-" a hyphen or
    apostrophe, "," a comma or other pause, "." a full stop or a new line.
    """

    word: str
    text: str
    start: int
    end: int
    gap: str
    kind: str
    """word, numeral, mark or skip (a phone number, a web address)."""
    slip: bool = False


@dataclass(frozen=True, slots=True)
class Reading:
    """The tokens of a message and the values found in them, in order of their place.

    `text` is the message as it was read: composed, without control characters and cut at the cap.
    Kinds are those of `facts.Mention`, and `doubt`. A quantity inside a `per` or `span` is also
    mentioned by itself, inside the wider one.
    """

    text: str
    tokens: tuple[Token, ...]
    mentions: tuple[Mention, ...]
    cut: bool = False
    """The message was longer than what is read of one."""

    def of(self, *kinds: str) -> tuple[Mention, ...]:
        """The mentions of these kinds, in order."""
        return tuple(mention for mention in self.mentions if mention.kind in kinds)


@dataclass(frozen=True, slots=True)
class Doubt:
    """A mention that could be read otherwise; the first option is what the mention beside it says.

    It stands as `Mention("doubt", Doubt(...), start, end)` over the same tokens. `about` is one of
    tense (yesterday or tomorrow), one_in (1+2 or 1+3), fraction (a part or a ratio), grouping
    (thousands or decimals), unit (one letter, several units), digit (2001 or 200 l).
    """

    about: str
    options: tuple[object, ...]
