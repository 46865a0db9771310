"""What is wrong in the catalogues, one line each, that says where and what to mend."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from pathlib import Path

from babel.plural import to_python

from bot.craft.units import known
from bot.facts import Fact
from bot.wording import sources
from bot.wording.catalogue import ENGLISH, LOCALES, Catalogue, Entry, Slot, load, tags, template
from bot.wording.values import Speaker
from bot.wording.voice import Voice
from bot.wording.widest import barest, widest

HOWS = frozenset(
    {"", "near", "lines", "commas", "plus", "either", "number", "exact", "hour", "day", "weekday"}
)
"""What a slot may ask for after its colon."""


def faults(
    root: Path = LOCALES, *, complete: Sequence[str] = (ENGLISH,), unused: bool = True
) -> tuple[str, ...]:
    """What must be mended in the catalogues, one line each; none if all is well.

    A language in `complete` may miss nothing; the others may fall back to English. `unused` asks
    as well for English messages that nothing says, and for what is heard but cannot be said back.
    """
    english = load(ENGLISH, root)
    found = [
        *_unsaid(english),
        *((*_unechoed(english, root), *_unused(english, root)) if unused else ()),
    ]
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


def _unechoed(english: Catalogue, root: Path) -> Iterator[str]:
    """What is heard and may be said back, but has no words; of the kinds that have words at all."""
    kinds = {key.partition(".")[0] for key in english.messages if "." in key}
    for key in sorted(sources.heard(root)):
        kind = key.partition(".")[0]
        if kind in kinds - {"each", "every"} and key not in english.messages:
            yield f'en/words.toml hears {key}: en/messages.po has no msgid "{key}"'


def _unused(english: Catalogue, root: Path) -> Iterator[str]:
    """English messages that nothing in the program can say.

    A key is said if the source writes it out, if it is heard and so said back, or if its kind is
    one whose terms the source chooses and its term is written somewhere: in the source, in a
    recipe, among the units.
    """
    strings, tabled, heard = sources.strings(), sources.tabled(), sources.heard(root)
    kinds = {each.key.removesuffix(".*") for each in sources.named() if each.key.endswith(".*")}
    kinds |= {"day", "each", "every", "hours", "noun"}
    whole = strings | heard | {each.key for each in sources.named()}
    for key in english.messages:
        plain = key.removesuffix(".short")
        kind, _, term = plain.partition(".")
        chosen = (kind in kinds and term in strings) or term in tabled
        if not (plain in whole or (known(term) if kind == "unit" else chosen)):
            yield f"en: {key}: nothing says this"


def _in_language(mine: Catalogue, english: Catalogue, *, missing: bool) -> Iterator[str]:
    """What is wrong inside one catalogue, and between it and the English one."""
    entries = {entry.key: entry for entry in mine.entries}
    theirs = {entry.key: entry for entry in english.entries}
    yield from (f"{mine.tag}: {key}: said twice" for key in mine.repeated)
    yield from (f"{mine.tag}: {fault}" for fault in _plural_faults(mine))
    yield from (f"{mine.tag}: {fault}" for fault in _said_of_itself(mine))
    for key, entry in entries.items():
        if entry.fuzzy:
            yield f"{mine.tag}: {key}: fuzzy, so it is not said"
        whole = theirs.get(key) or theirs.get(key.removesuffix(".short"))
        if whole is None:
            yield f"{mine.tag}: {key}: unused, English has no such key"
        else:
            yield from (f"{mine.tag}: {key}: {text}" for text in _differs(entry, whole))
    if missing:
        # Which messages need a short form differs from language to language.
        keys = (key for key in english.messages if not key.endswith(".short"))
        wanted = [key for key in keys if key not in mine.messages]
        yield from (f"{mine.tag}: {key}: missing" for key in wanted)


def _said_of_itself(mine: Catalogue) -> Iterator[str]:
    """What a catalogue owes its readers: comments, its reader, and words it never says."""
    if mine.tag != ENGLISH and "reader" not in mine.habits:
        yield "the header needs X-Reader: awaited, or who read it and when"
    never = [word.strip() for word in mine.habits.get("never", "").split(",") if word.strip()]
    pattern = re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, never))})(?!\w)", re.IGNORECASE)
    for entry in mine.entries:
        if mine.tag == ENGLISH and not entry.about:
            yield f"{entry.key}: no comment says what it must say"
        found = {hit.lower() for form in entry.forms for hit in pattern.findall(form) if never}
        yield from (f"{entry.key}: says {word!r}, which X-Never forbids" for word in sorted(found))


def _differs(entry: Entry, english: Entry) -> Iterator[str]:
    if not any(entry.forms):
        return
    here, there = _names(entry.forms), _names(english.forms)
    optional = {"n"} if english.plural or entry.plural else set()
    # A short form may leave values away, never bring others.
    differ = here - there if entry.key != english.key else here ^ there
    if differ - optional:
        yield f"places {sorted(here)} differ from the English {sorted(there)}"
    if (
        entry.key == english.key
        and entry.plural != english.plural
        and not entry.key.startswith("unit.")
    ):
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
