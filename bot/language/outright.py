"""The words that stop, start again and help: heard in every language at once.

Whoever wants no more messages must not first find out in which language to say so.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from bot.language.folding import clean
from bot.language.templates import TemplateError, Tree, parse
from bot.language.tokens import tokens

if TYPE_CHECKING:
    from bot.language.understand import Tongue

OUTRIGHT = frozenset({"stop", "resume", "help"})
"""The kinds that are heard so."""

LONGEST = 40
"""Characters; the longest of these phrases is far below it."""


def outright(text: str, heard: Mapping[str, Tongue], own: str) -> str:
    """Which of stop, resume and help is all that a message says in any language, else "".

    The member's own language goes first. Where one of the words is a word of that language, as
    "pare" or "band" may be, another language's meaning of it does not count.
    """
    if len(text) > LONGEST:
        return ""
    phrase = tuple(token.word for token in tokens(clean(text)[0]) if token.kind != "mark")
    if not phrase:
        return ""
    mine = heard.get(own)
    if mine is not None:
        if phrase in mine.outright:
            return mine.outright[phrase]
        if all(word in mine.own or word in mine.lexicon.known for word in phrase):
            return ""
    return next(
        (tongue.outright[phrase] for tongue in heard.values() if phrase in tongue.outright), ""
    )


def whole_messages(requests: Mapping[str, Mapping[str, Any]]) -> Mapping[tuple[str, ...], str]:
    """For each run of words that by itself stops, starts again or helps: which of them.

    They are the lines behind `=` in the tables of these kinds; a line that cannot be read is left
    to `cues`, which says so.
    """
    found: dict[tuple[str, ...], str] = {}
    for kind, said in requests.items():
        for line in said.get("cues", "").splitlines() if kind in OUTRIGHT else ():
            if line.startswith("="):
                try:
                    phrases = spelled(line.removeprefix("=").partition("->")[0].strip())
                except TemplateError:
                    continue
                for phrase in phrases:
                    found.setdefault(phrase, kind)
    return found


def spelled(template: str) -> set[tuple[str, ...]]:
    """Every run of folded words a template without types and beginnings stands for.

    Raises:
        TemplateError: it cannot be read.

    >>> sorted(spelled("(opt|opt me) out"))
    [('opt', 'me', 'out'), ('opt', 'out')]
    """
    return _spelled(parse(template))


def _spelled(choices: list[Tree]) -> set[tuple[str, ...]]:
    found: set[tuple[str, ...]] = set()
    for choice in choices:
        runs: set[tuple[str, ...]] = {()}
        for piece in choice:
            if isinstance(piece, str):
                plain = piece.isascii() and piece.isalpha()
                more = {(piece.lower(),) if plain else tuple(t.word for t in tokens(piece))}
            else:
                inner, missing = piece
                more = _spelled(inner) | ({()} if missing else set())
            runs = {(*run, *each) for run in runs for each in more}
        found |= runs
    return found
