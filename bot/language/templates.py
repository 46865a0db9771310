"""Cue templates: what members write, grown into a graph of words and found in a message.

A template is one line: `how much (culture|mother) [do i need] -> use=leaf`.
`(a|b)` is a choice, `[a|b]` one that may be missing, `stir*` a beginning and `*koroga` an end of
a word, `<use>` any value of that type, `~place` a run of free words that fills a slot, and what
follows `->` are slots the words themselves say.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Container, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

_PIECE = re.compile(r"[()\[\]|]|[^\s()\[\]|]+")
LONGEST_FREE_RUN = 8
A_VALUE = 6
"""What a value weighs in a template, beside the 10 of a word as it is written."""


class TemplateError(ValueError):
    """A line of words.toml cannot be read as a template."""


@dataclass(frozen=True, slots=True)
class Hit:
    """One template found at words `start` to `end` (end exclusive).

    `weight` is 10 a word that stood there as written, less for a beginning, a slip or a value.
    `free` are the runs of words that stood in for `~slots`, as (slot, start, end).
    """

    payload: Any
    start: int
    end: int
    weight: int
    free: tuple[tuple[str, int, int], ...] = ()
    values: frozenset[int] = frozenset()
    """Words that stood in for `<types>`."""


Edges = dict[str, "tuple[Branch, ...]"]

NOWHERE: Edges = {}
"""The edges of a place that has none of a sort, as most have: never written to."""


class Branch:
    """A place in the graph of templates: what may come next, and what ends here."""

    __slots__ = ("after", "ends", "free", "values")

    def __init__(
        self,
        after: Edges = NOWHERE,
        values: Edges = NOWHERE,
        free: Edges = NOWHERE,
        ends: tuple[Any, ...] = (),
    ) -> None:
        """A place with these ways on."""
        self.after = after
        self.values = values
        self.free = free
        self.ends = ends

    def graft(self, other: Branch) -> None:
        """Take over all that may come next at another place, and what ends there."""
        if other.after:
            self.after = _both(self.after, other.after)
        if other.values:
            self.values = _both(self.values, other.values)
        if other.free:
            self.free = _both(self.free, other.free)
        if other.ends:
            mine = self.ends
            self.ends = (
                (*mine, *(end for end in other.ends if end not in mine)) if mine else other.ends
            )

    def join(self, depth: int) -> None:
        """Make one of the places that the same word leads to, so that each is looked at once."""
        for edges in (self.after, self.values, self.free):
            for symbol, then in edges.items():
                if len(then) == 1:
                    continue
                one = Branch()
                for each in then:
                    one.graft(each)
                if depth > 1:
                    one.join(depth - 1)
                edges[symbol] = (one,)


def _both(own: Edges, more: Edges) -> Edges:
    """The edges of two places; the first's own edges are added to where it has any."""
    if own is NOWHERE:
        return dict(more)
    for symbol, then in more.items():
        own[symbol] = (*own[symbol], *then) if symbol in own else then
    return own


Tree = list["str | tuple[list[Tree], bool]"]
"""A template taken apart: words, and choices with whether they may be missing."""


def parse(template: str) -> list[Tree]:
    """The choices of a template, taken apart.

    Raises:
        TemplateError: a bracket is not closed, a choice is empty, or nothing is left.

    >>> parse("how much [culture]")
    [['how', 'much', ([['culture']], True)]]
    """
    pieces = _PIECE.findall(template)
    choices, place = _choices(pieces, 0, "")
    if place != len(pieces) or any(("<" in piece) != (">" in piece) for piece in pieces):
        raise TemplateError(f"not a template: {template!r}")
    return choices


def _choices(pieces: list[str], place: int, closing: str) -> tuple[list[Tree], int]:
    """The choices of `a b|c` up to `closing`, and where they stopped."""
    choices: list[Tree] = [[]]
    while place < len(pieces) and pieces[place] not in {")", "]"}:
        piece = pieces[place]
        place += 1
        if piece == "|":
            choices.append([])
        elif piece in {"(", "["}:
            inner, place = _choices(pieces, place, ")" if piece == "(" else "]")
            choices[-1].append((inner, piece == "["))
        else:
            choices[-1].append(piece)
    if closing and pieces[place : place + 1] != [closing]:
        raise TemplateError("a bracket is not closed: " + " ".join(pieces))
    if not all(choices):
        raise TemplateError("a choice is empty: " + " ".join(pieces))
    return choices, place + bool(closing)


def grow(choices: list[Tree], then: Branch, words: Callable[[str], Sequence[str]]) -> Branch:
    """A place from which any of the choices leads on to `then`.

    `words` cuts and folds what is written as a message is cut and folded.
    """
    here = Branch()
    for choice in choices:
        if len(choice) == 1 and isinstance(choice[0], str) and choice[0][0] not in "<~":
            one = words(choice[0])
            if len(one) == 1:  # most choices are one word: no branch of its own for it
                here.after = _both(here.after, {one[0]: (then,)})
                continue
        ahead = then
        for part in reversed(choice):
            if isinstance(part, str):
                ahead = _before(part, ahead, words)
            else:
                inner, optional = part
                grown = grow(inner, ahead, words)
                if optional:
                    grown.graft(ahead)
                ahead = grown
        here.graft(ahead)
    return here


def _before(part: str, then: Branch, words: Callable[[str], Sequence[str]]) -> Branch:
    if part[0] == "<":
        return Branch(values={part[1:-1]: (then,)})
    if part[0] == "~":
        return Branch(free={part[1:]: (then,)})
    for word in reversed(words(part)):
        then = Branch(after={word: (then,)})
    return then


Symbols = Sequence[Sequence[tuple[str, int]]]
"""For each word of a message, what it may stand for, and how well (10 as written)."""


Seen = tuple[tuple[tuple[str, int, int], ...], frozenset[int]]
"""The free runs and the words of values that a walk has passed."""

NOTHING_SEEN: Seen = ((), frozenset())


def hits(
    tree: Branch,
    words: Symbols,
    values: Mapping[int, Sequence[tuple[str, int]]] | None = None,
    slight: Container[int] = frozenset(),
) -> list[Hit]:
    """Every template that stands in the message, by where it begins.

    `values` gives for a word the values that begin there, as (type, end). `slight` words (the, of)
    may stand inside a template without being in it, two in a row at most.
    """
    walk = _Walk(words, values or {}, slight)
    for start in range(len(words)):
        walk.start = start
        walk.on(tree, start, 0)
    return walk.found


class _Walk:
    """One message while templates are looked for in it."""

    def __init__(
        self,
        words: Symbols,
        values: Mapping[int, Sequence[tuple[str, int]]],
        slight: Container[int],
    ) -> None:
        self.words = words
        self.values = values
        self.slight = slight
        self.found: list[Hit] = []
        self.start = 0
        self.here = [{symbol for symbol, _ in symbols} for symbols in words]
        self.behind: dict[int, list[int]] = {}

    def on(
        self, here: Branch, place: int, weight: int, seen: Seen = NOTHING_SEEN, skipped: int = 0
    ) -> None:
        """Find what is to be found from one place in the graph and one in the message."""
        if here.ends and not skipped:
            self.found += [Hit(payload, self.start, place, weight, *seen) for payload in here.ends]
        if place >= len(self.words):
            return
        after = here.after
        if after:
            for symbol, worth in self.words[place]:
                if symbol in after:
                    for then in after[symbol]:
                        self.on(then, place + 1, weight + worth, seen)
        if here.values and place in self.values:
            for kind, end in self.values[place]:
                for then in here.values.get(kind, ()):
                    taken = (seen[0], seen[1].union(range(place, end)))
                    self.on(then, end, weight + A_VALUE, taken)
        goes_on = bool(after or here.values)
        if goes_on and skipped < 2 and place > self.start and place in self.slight:
            self.on(here, place + 1, weight - 1, seen, skipped + 1)
        if here.free and not skipped:
            self.over(here, place, weight, seen)

    def over(self, here: Branch, place: int, weight: int, seen: Seen) -> None:
        """Find what is to be found behind a run of free words."""
        last = min(len(self.words), place + LONGEST_FREE_RUN)
        for slot, branches in here.free.items():
            for then in branches:
                if then.ends:
                    self.on(then, last, weight + 1, ((*seen[0], (slot, place, last)), seen[1]))
                if not (then.after or then.values):
                    continue
                for end in self.next_words(then):
                    if place < end <= last:
                        run = ((*seen[0], (slot, place, end)), seen[1])
                        self.on(then, end, weight + 1, run)

    def next_words(self, then: Branch) -> list[int]:
        """Where the word behind a free run can stand, looked for once a message."""
        known = self.behind.get(id(then))
        if known is None:
            known = self.behind[id(then)] = []
            fits = False
            for place in range(len(self.words) - 1, -1, -1):
                fits = (
                    not self.here[place].isdisjoint(then.after)
                    or any(kind in then.values for kind, _ in self.values.get(place, ()))
                    or (fits and place in self.slight)
                )
                if fits:
                    known.append(place)
        return known
