"""What can be said in each language: gettext catalogues, with their plural forms and templates."""

from __future__ import annotations

import gettext
import io
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from email import message_from_string
from functools import lru_cache
from pathlib import Path

from babel import Locale, UnknownLocaleError
from babel.messages.pofile import PoFileError, denormalize, read_po
from babel.plural import PluralRule, to_gettext, to_python

LOCALES = Path(__file__).parent.parent / "locales"
"""Where the languages lie, one folder each, found by being there."""

ENGLISH = "en"
"""The language in which every message exists; others fall back to it, message by message."""


class CatalogueError(ValueError):
    """A catalogue cannot be read; the sentence names the file and what to mend."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A place for a value in a template: the name of the fact's field and how to show it."""

    name: str
    how: str = ""


Template = tuple[str | Slot, ...]
_SLOT = re.compile(r"\{(\w+)(?::(\w+))?\}")


def template(text: str) -> Template:
    """The parts of a message: plain text, and slots such as `{on}` or `{on:near}`.

    >>> template("Per tank: {culture}.")
    ('Per tank: ', Slot(name='culture', how=''), '.')
    """
    parts: list[str | Slot] = []
    begun = 0
    for found in _SLOT.finditer(text):
        if found.start() > begun:
            parts.append(text[begun : found.start()])
        parts.append(Slot(found[1], found[2] or ""))
        begun = found.end()
    if begun < len(text):
        parts.append(text[begun:])
    return tuple(parts)


@dataclass(frozen=True, slots=True)
class Entry:
    """One message as it stands in the file, for the checks; `said` goes by `Catalogue.messages`."""

    key: str
    forms: tuple[str, ...]
    fuzzy: bool
    about: str
    plural: bool


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Everything one language can say.

    `messages` holds what may be said (translated, not fuzzy), one template for each plural form.
    `locale` is the CLDR locale its numbers, days and lists follow. `habits` are the header lines
    that begin with X-, by their name without it, in lower case.
    """

    tag: str
    messages: Mapping[str, tuple[Template, ...]]
    locale: Locale
    plural: Callable[[Decimal], int]
    habits: Mapping[str, str] = field(default_factory=dict)
    entries: tuple[Entry, ...] = ()
    repeated: tuple[str, ...] = ()


def load(tag: str, root: Path = LOCALES) -> Catalogue:
    """The catalogue of `root/<tag>/messages.po`, read once until the file changes.

    Raises:
        CatalogueError: there is no such file, or it cannot be read.
    """
    path = root / tag / "messages.po"
    return _load(tag, path, path.stat().st_mtime_ns if path.is_file() else 0)


@lru_cache(maxsize=64)
def _load(tag: str, path: Path, _changed_ns: int) -> Catalogue:
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as fault:
        raise CatalogueError(f"{path} cannot be read as UTF-8 text: {fault}") from fault
    return parse(tag, text, str(path))


def parse(tag: str, text: str, where: str = "messages.po") -> Catalogue:
    """The catalogue written in `text`, which is a gettext .po file.

    Raises:
        CatalogueError: it is no .po file, or its plural rule or locale is unknown.
    """
    try:
        read = read_po(io.StringIO(text), abort_invalid=True)
    except (PoFileError, ValueError) as fault:
        raise CatalogueError(f"{where}: {fault}") from fault
    entries = tuple(
        Entry(
            key=message.id if isinstance(message.id, str) else message.id[0],
            forms=(message.string,) if isinstance(message.string, str) else _forms(message.string),
            fuzzy=message.fuzzy,
            about=" ".join(message.auto_comments),
            plural=bool(message.pluralizable),
        )
        for message in read
        if message.id
    )
    header = _header(text)
    habits = {
        name.lower().removeprefix("x-"): value
        for name, value in header.items()
        if name.lower().startswith("x-")
    }
    locale = _locale(tag, habits.get("locale", ""), where)
    rule = header.get("Plural-Forms", "")
    keys = re.findall(r'^msgid "(.+)"$', text, re.MULTILINE)
    return Catalogue(
        tag=tag,
        messages={
            entry.key: tuple(template(form) for form in entry.forms)
            for entry in entries
            if not entry.fuzzy and all(entry.forms)
        },
        locale=locale,
        plural=_plural(rule, locale, where),
        habits=habits,
        entries=entries,
        repeated=tuple(dict.fromkeys(key for key in keys if keys.count(key) > 1)),
    )


def _forms(forms: Sequence[str | None] | None) -> tuple[str, ...]:
    return tuple(form or "" for form in forms or ("",))


def _header(text: str) -> dict[str, str]:
    """The lines of the first, nameless message, which is where gettext keeps its header."""
    found = re.search(r'^msgid ""\nmsgstr ((?:".*"\n?)+)', text, re.MULTILINE)
    return dict(message_from_string(denormalize(found[1])).items()) if found else {}


def _locale(tag: str, like: str, where: str) -> Locale:
    """The CLDR locale of a language; one CLDR does not know says which it is like."""
    try:
        return Locale.parse(like or tag, sep="_" if "_" in (like or tag) else "-")
    except (UnknownLocaleError, ValueError) as fault:
        raise CatalogueError(
            f"{where}: CLDR does not know {like or tag!r}; add a header line "
            f'"X-Locale: en\\n" that names the locale whose numbers and days it shares'
        ) from fault


_FORMS = re.compile(r"\s*nplurals\s*=\s*(\d+)\s*;\s*plural\s*=\s*([^;]+);?\s*")


def _plural(rule: str, locale: Locale, where: str) -> Callable[[Decimal], int]:
    """Which form of a message a number takes.

    Whole numbers follow the file's own rule, as every gettext tool reads it. Fractions, which
    that rule cannot be asked, take the form of their CLDR category.
    """
    found = _FORMS.fullmatch(rule)
    if not found:
        raise CatalogueError(
            f"{where}: the header needs a line such as "
            f'"Plural-Forms: nplurals=2; plural=(n != 1);\\n"'
        )
    count = int(found[1])
    try:
        whole = gettext.c2py(found[2])
    except ValueError as fault:
        raise CatalogueError(f"{where}: Plural-Forms: {fault}") from fault
    category = to_python(locale.plural_form)
    # Each category's form, learnt from the whole numbers; 10**6 is the first "many" of Spanish.
    forms = {category(n): min(whole(n), count - 1) for n in (10**6, *range(200, -1, -1))}

    def choose(n: Decimal) -> int:
        n = abs(n)
        if n == n.to_integral_value():
            return int(min(whole(int(n)), count - 1))
        return forms.get(category(n.normalize()), count - 1)

    return choose


def plural_rule(locale: Locale) -> str:
    """The Plural-Forms line of a language, from CLDR, as gettext tools read it.

    The "many" that Spanish, French and Portuguese keep for whole millions is left out: gettext
    cannot ask for it, and no group counts a million of anything.

    >>> plural_rule(Locale("es"))
    'nplurals=2; plural=(((n == 1)) ? 0 : 1);'
    """
    rules = {tag: rule for tag, rule in locale.plural_form.rules.items() if "e in" not in rule}
    return to_gettext(PluralRule(rules))


def tags(root: Path = LOCALES) -> tuple[str, ...]:
    """Every language that can be said, English first.

    >>> tags()[0]
    'en'
    """
    found = sorted(path.parent.name for path in root.glob("*/messages.po"))
    return tuple(sorted(found, key=lambda tag: tag != ENGLISH))


def chain(tag: str, root: Path = LOCALES) -> tuple[Catalogue, ...]:
    """Where a message is looked for, in order: the language, the same without its country, English.

    An unknown language is answered in English rather than not at all.
    """
    without_country = re.sub(r"[-_](?:[A-Z]{2}|\d{3})$", "", tag)
    wanted = dict.fromkeys((tag.replace("_", "-"), without_country, ENGLISH))
    return tuple(load(each, root) for each in wanted if (root / each / "messages.po").is_file())
