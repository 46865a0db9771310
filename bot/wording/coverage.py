"""How much each language can say, what is wrong with its catalogue, and what replies cost."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from babel.plural import to_python

from bot.facts import Fact
from bot.messages import Manner
from bot.wording import segments, sources
from bot.wording.catalogue import ENGLISH, LOCALES, Catalogue, Entry, Slot, load, tags, template
from bot.wording.say import say
from bot.wording.values import Speaker
from bot.wording.voice import Voice
from bot.wording.widest import barest, widest

GRADES = ("needed", "usable", "complete")
"""Without the first a grower cannot use the bot; with the second it serves a group daily."""

HOWS = frozenset({"", "near", "lines", "commas", "plus", "number", "hour", "day"})
"""What a slot may ask for after its colon."""

SMS = Manner(one_message=160, alphabet="gsm7", pages=1)


@dataclass(frozen=True, slots=True)
class Row:
    """How many messages of one grade a language says, of how many."""

    tag: str
    grade: str
    said: int
    wanted: int


def grade(key: str, english: Catalogue) -> str:
    """The grade a key belongs to, by the lines X-Needed and X-Usable of the English header."""
    first = key.partition(".")[0]
    for name in GRADES[:-1]:
        if first in english.habits.get(name, "").split():
            return name
    return GRADES[-1]


def coverage(root: Path = LOCALES) -> tuple[Row, ...]:
    """One row for each language and grade; a grade holds what the grades before it hold."""
    english = load(ENGLISH, root)
    rows = []
    for tag in tags(root):
        said = load(tag, root).messages
        wanted: list[str] = []
        for name in GRADES:
            wanted += [key for key in english.messages if grade(key, english) == name]
            rows.append(Row(tag, name, sum(key in said for key in wanted), len(wanted)))
    return tuple(rows)


def coverage_table(root: Path = LOCALES) -> str:
    """The rows of `coverage` as text, with the highest grade each language has reached."""
    rows = coverage(root)
    lines = [f"{'language':<10}" + "".join(f"{name:>18}" for name in GRADES) + "   reached"]
    for tag in tags(root):
        mine = [row for row in rows if row.tag == tag]
        cells = "".join(f"{f'{row.said}/{row.wanted}':>18}" for row in mine)
        reached = "-"
        for row in mine:
            if row.said < row.wanted:
                break
            reached = row.grade
        lines.append(f"{tag:<10}{cells}   {reached}")
    return "\n".join(lines)


# --- faults -----------------------------------------------------------------------------------


def faults(
    root: Path = LOCALES, *, complete: Sequence[str] = (ENGLISH,), unused: bool = True
) -> tuple[str, ...]:
    """What must be mended in the catalogues, one line each; none if all is well.

    A language in `complete` may miss nothing; the others may fall back to English. `unused` asks
    as well for English messages that nothing says.
    """
    english = load(ENGLISH, root)
    found = [*_unsaid(english), *(_unused(english) if unused else ())]
    for tag in tags(root):
        found += _in_language(load(tag, root), english, missing=tag in complete)
    return tuple(found)


def _unsaid(english: Catalogue) -> Iterator[str]:
    """Facts and named terms that English has no words for, and slots no field fills."""
    for kind in sources.facts():
        where = f"{kind.__module__}.{kind.__qualname__}"
        if kind.words not in english.messages:
            yield f'{where}: en/messages.po has no msgid "{kind.words}"'
        names = sources.field_names(kind)
        if kind.plural and kind.plural not in names:
            yield f"{where}: plural names {kind.plural!r}, which is no field"
        for key in (kind.words, f"{kind.words}.short"):
            for slot in _slots(english.messages.get(key, ())):
                if slot.name not in names:
                    yield f"{where}: {key} has {{{slot.name}}}, which is no field"
    for each in sources.named():
        if not each.key.endswith(".*") and each.key not in english.messages:
            yield f'{each.where}: en/messages.po has no msgid "{each.key}"'


def _unused(english: Catalogue) -> Iterator[str]:
    """English messages that nothing in the program can say."""
    strings = sources.strings()
    kinds = {each.key.removesuffix(".*") for each in sources.named() if each.key.endswith(".*")}
    kinds |= {"unit", "noun", "each", "every", "day", "hours", "recipe"}
    for key in english.messages:
        plain = key.removesuffix(".short")
        known = plain in strings or key.partition(".")[0] in kinds
        if not known and plain not in {each.key for each in sources.named()}:
            yield f"en: {key}: nothing says this"


def _in_language(mine: Catalogue, english: Catalogue, *, missing: bool) -> Iterator[str]:
    """What is wrong inside one catalogue, and between it and the English one."""
    entries = {entry.key: entry for entry in mine.entries}
    theirs = {entry.key: entry for entry in english.entries}
    yield from (f"{mine.tag}: {key}: said twice" for key in mine.repeated)
    yield from (f"{mine.tag}: {fault}" for fault in _plural_faults(mine))
    for key, entry in entries.items():
        if entry.fuzzy:
            yield f"{mine.tag}: {key}: fuzzy, so it is not said"
        if key not in theirs:
            yield f"{mine.tag}: {key}: unused, English has no such key"
        else:
            yield from (f"{mine.tag}: {key}: {text}" for text in _differs(entry, theirs[key]))
    if missing:
        wanted = [key for key in english.messages if key not in mine.messages]
        yield from (f"{mine.tag}: {key}: missing" for key in wanted)


def _differs(entry: Entry, english: Entry) -> Iterator[str]:
    if not any(entry.forms):
        return
    here, there = _names(entry.forms), _names(english.forms)
    optional = {"n"} if english.plural or entry.plural else set()
    if (here ^ there) - optional:
        yield f"places {sorted(here)} differ from the English {sorted(there)}"
    if entry.plural != english.plural and not entry.key.startswith("unit."):
        yield "has plural forms where English has none, or none where it has"
    for slot in _slots(template(form) for form in entry.forms):
        if slot.how not in HOWS:
            yield f"{{{slot.name}:{slot.how}}} asks for something unknown"
    for part in (part for form in entry.forms for part in template(form)):
        if isinstance(part, str) and ("{" in part or "}" in part):
            yield f"a brace begins no place in {part.strip()!r}"


def _plural_faults(mine: Catalogue) -> Iterator[str]:
    """Whole numbers for which the header's rule and CLDR disagree."""
    category = to_python(mine.locale.plural_form)
    seen: dict[int, str] = {}
    for n in range(201):
        form, name = mine.plural(Decimal(n)), category(n)
        if seen.setdefault(form, name) != name:
            yield f"Plural-Forms gives {n} the form of {seen[form]!r}, CLDR says {name!r}"
            return
    for entry in mine.entries:
        said = sum(map(bool, entry.forms))
        if entry.plural and 0 < said < len(seen):
            yield f"{entry.key}: {said} plural forms of {len(seen)}"


def _slots(forms: Iterable[Iterable[str | Slot]]) -> Iterator[Slot]:
    return (part for form in forms for part in form if isinstance(part, Slot))


def _names(forms: Iterable[str]) -> set[str]:
    return {slot.name for slot in _slots(template(form) for form in forms)}


# --- segments ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Cost:
    """What one fact costs by SMS at its widest: segments of the first page, and how many pages."""

    tag: str
    words: str
    alphabet: str
    units: int
    segments: int
    pages: int
    text: str


def costs(root: Path = LOCALES, languages: Sequence[str] = ()) -> tuple[Cost, ...]:
    """What every reply costs in every language at its widest values."""
    kinds = sources.facts()
    return tuple(_cost(kind, tag, root) for tag in languages or tags(root) for kind in kinds)


def _cost(kind: type[Fact], tag: str, root: Path) -> Cost:
    voice = Voice(tag)
    worded = say([widest(kind, Speaker(voice, root))], voice, SMS, root=root)
    first = worded.pages[0]
    return Cost(
        tag=tag,
        words=kind.words,
        alphabet="GSM-7" if segments.is_gsm(first) else "UCS-2",
        units=segments.units(first),
        segments=segments.segments(first),
        pages=len(worded.pages),
        text=first,
    )


def segments_table(root: Path = LOCALES) -> str:
    """Segments for every reply in every language, and the share that fits in one."""
    found = costs(root)
    lines = [
        f"{'language':<10}{'reply':<36}{'alphabet':<10}{'units':>6}{'segments':>9}{'pages':>6}"
    ]
    lines += [
        f"{cost.tag:<10}{cost.words:<36}{cost.alphabet:<10}{cost.units:>6}{cost.segments:>9}"
        f"{cost.pages:>6}"
        for cost in found
    ]
    return "\n".join([*lines, "", *(_share(tag, found) for tag in tags(root))])


def _share(tag: str, found: Sequence[Cost]) -> str:
    mine = [cost for cost in found if cost.tag == tag]
    one = sum(cost.segments == 1 and cost.pages == 1 for cost in mine)
    whole = sum(cost.pages == 1 for cost in mine)
    return f"{tag}: {one} of {len(mine)} replies in one segment, {whole} without paging"


# --- the whole walk ---------------------------------------------------------------------------


def wordless(root: Path = LOCALES, languages: Sequence[str] = ()) -> Mapping[str, tuple[str, ...]]:
    """For each language the facts that fail when said at their widest or barest, one line each."""
    found = {}
    for tag in languages or tags(root):
        lines: list[str] = []
        for kind in sources.facts():
            lines += _tries(kind, tag, root)
        found[tag] = tuple(lines)
    return found


def _tries(kind: type[Fact], tag: str, root: Path) -> Iterator[str]:
    where = f"{tag}: {kind.__module__}.{kind.__qualname__}"
    for make in (widest, barest):
        for short in (False, True):
            speaker = Speaker(Voice(tag), root, short=short)
            try:
                fact = make(kind, speaker)
                text = speaker.fact(fact)
            except TypeError as fault:
                yield f"{where}: {fault}"
                return
            if not text.strip():
                yield f"{where}: says nothing when {make.__name__}"
