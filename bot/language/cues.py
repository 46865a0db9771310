"""The words of one language that say what is wanted, compiled from its words.toml."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from bot.facts import Term
from bot.language.folding import fold
from bot.language.shapes import Shapes, shapes
from bot.language.slips import Slips
from bot.language.templates import Branch, TemplateError, Tree, grow, parse
from bot.language.tokens import tokens


@lru_cache(maxsize=8192)
def parted(words: str) -> tuple[str, ...]:
    """The folded words of a phrase, cut as a message is cut: "can't" is two."""
    return tuple(token.word for token in tokens(words))


_ARROW = re.compile(r"\s*->\s*")
_SAID = re.compile(r"(\w+)=(\S+)")
_REMEMBERED = 20_000


@dataclass(frozen=True, slots=True)
class Cue:
    """One line of `[requests.<kind>]`: how strongly it speaks for the kind, and what it fills.

    `force` is "says" (enough by itself), "leans" (`?`: helps, does not suffice), "only" (`=`: the
    whole message) or "denies" (`!`). An `opening` one (`^`) stands where its clause begins.
    """

    kind: str
    force: str
    line: str
    says: tuple[tuple[str, str], ...] = ()
    opening: bool = False


@dataclass(frozen=True, slots=True)
class Role:
    """Words beside a value that tell which slot it fills: `side` is "before" or "after"."""

    slot: str
    side: str


@dataclass(frozen=True, slots=True)
class Pointing:
    """Words for a barrel: "all", "largest" (or another of `called.POINTED`), "noun", "thing".

    Behind a "noun" its number follows; a "thing" is left as it was said.
    """

    sort: str


FILLER = "filler"
JOINER = "joiner"
POLITE = "polite"
_FORCES = {"?": "leans", "=": "only", "!": "denies"}


@dataclass(slots=True)
class Cues:
    """What one language has for asking: templates, terms, roles, joiners and filler."""

    tag: str
    shapes: Shapes
    templates: Branch = field(default_factory=Branch)
    terms: Branch = field(default_factory=Branch)
    lines: list[Cue] = field(default_factory=list)
    example: str = ""
    kinds: dict[str, str] = field(default_factory=dict)
    """For each kind an example that works, from the examples or the language's first."""
    slight: frozenset[str] = frozenset()
    """Words that may stand inside any template."""
    spoken: frozenset[str] = frozenset()
    """Digits that are typed for small words: 4 for "for"."""
    slips: Slips = field(default_factory=Slips)
    _known: dict[str, tuple[tuple[str, int], ...]] = field(default_factory=dict)

    def ready(self) -> None:
        """Put everything in order once all words are there."""
        self.templates.join(3)
        self.terms.join(3)
        self.slips.ready()

    def borrow(self, other: Cues) -> None:
        """Hear the templates and terms of another language too, as its writers mix it in."""
        self.templates.graft(other.templates)
        self.terms.graft(other.terms)
        self.slips.words |= other.slips.words
        self.slips.beginnings |= other.slips.beginnings
        self.slips.ends |= other.slips.ends

    def symbols(self, word: str) -> tuple[tuple[str, int], ...]:
        """What a folded word may stand for in a template, and how well."""
        known = self._known.get(word)
        if known is None:
            if len(self._known) > _REMEMBERED:
                self._known.clear()
            known = self._known[word] = self.slips.symbols(word)
        return known


def compile_cues(
    tag: str, table: Mapping[str, Any], languages: Mapping[str, tuple[str, ...]]
) -> Cues:
    """The cues of one language from its table.

    Raises:
        TemplateError: a line cannot be read; the message names the table and the line.
    """
    requests = table.get("requests", {})
    own = {kind: said["slots"] for kind, said in requests.items() if "slots" in said}
    cues = Cues(tag, shapes().with_kinds(own))
    sow = _Sower(cues)
    talk = table.get("talk", {})
    cues.example = talk.get("example", "")
    cues.spoken = frozenset(talk.get("spoken", "").split("|"))
    cues.slips.vowels = frozenset(talk.get("vowels", "aeiou"))
    sow.plain(cues.templates, "talk.filler", talk.get("filler", ""), FILLER)
    sow.plain(cues.templates, "talk.polite", talk.get("polite", ""), POLITE)
    cues.slight = frozenset(
        word for piece in talk.get("slight", "").split("|") for word in parted(piece)
    )
    sow.plain(cues.templates, "talk.joiners", talk.get("joiners", ""), JOINER)
    for sort, said in table.get("which", {}).items():
        sow.plain(cues.terms, f"which.{sort}", said, Pointing(sort))
    for kind, names in table.get("terms", {}).items():
        for name, said in names.items():
            sow.plain(cues.terms, f"terms.{kind}.{name}", said, Term(kind, name))
    for other, called in languages.items():
        for name in called:
            words: list[Tree] = [list(parted(name))]
            cues.terms.graft(grow(words, Branch(ends=(Term("language", other),)), sow.words))
    for slot, sides in table.get("slots", {}).items():
        for side, said in sides.items():
            sow.plain(cues.templates, f"slots.{slot}.{side}", said, Role(slot, side))
    for kind, said in requests.items():
        if kind not in cues.shapes.kinds:
            raise TemplateError(f"{tag}: requests.{kind}: no such kind and no slots of its own")
        cues.kinds[kind] = said.get("example", "")
        for line in _lines(said.get("cues", "")):
            sow.cue(kind, line)
    return cues


def _lines(said: str) -> Iterable[str]:
    for raw in said.splitlines():
        line = raw.strip()
        if line and not line.startswith("#"):
            yield line


class _Sower:
    """Plants lines in a tree and keeps their words."""

    def __init__(self, cues: Cues) -> None:
        self.cues = cues
        self.cut: dict[str, tuple[str, ...]] = {}
        """Pieces of templates already cut: the same words stand in many."""

    def plain(self, root: Branch, where: str, said: str, payload: Any) -> None:
        """Plant one template that means `payload`."""
        if not said.strip():
            return
        try:
            root.graft(grow(parse(said), Branch(ends=(payload,)), self.words))
        except TemplateError as fault:
            raise TemplateError(f"{self.cues.tag}: {where}: {fault}") from fault

    def cue(self, kind: str, line: str) -> None:
        force = _FORCES.get(line[0], "says")
        plain = (line if force == "says" else line[1:]).strip()
        template, *after = _ARROW.split(plain.removeprefix("^"))
        says = tuple(_SAID.findall(after[0])) if after else ()
        cue = Cue(kind, force, line, says, opening=plain.startswith("^"))
        for slot, _ in says:
            if slot not in self.cues.shapes.kinds[kind].slots:
                raise TemplateError(f"{self.cues.tag}: requests.{kind}: no slot {slot}: {line}")
        self.cues.lines.append(cue)
        self.plain(self.cues.templates, f"requests.{kind}", template, cue)

    def words(self, part: str) -> tuple[str, ...]:
        """The folded words of one piece of a template, kept for mending."""
        parts = self.cut.get(part)
        if parts is None:
            plain = part.isalpha() and part.isascii()
            parts = (fold(part),) if plain or "*" in part else parted(part)
            self.cut[part] = parts
            for word in parts:
                self.cues.slips.add(word)
        return parts
