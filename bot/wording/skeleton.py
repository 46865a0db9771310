"""A new language begun: its two files with what is needed first, ready to fill in."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from babel import Locale, UnknownLocaleError
from babel.messages.pofile import normalize

from bot.wording.catalogue import ENGLISH, LOCALES, Catalogue, Entry, load, plural_rule
from bot.wording.coverage import GRADES, grade

ORIGIN = {
    "needed": "without these a grower cannot use the bot",
    "usable": "with these it serves a group every day",
    "complete": "the rest",
}


def new_language(tag: str, root: Path = LOCALES) -> dict[Path, str]:
    """The two files of a new language, by path, for the caller to write.

    `messages.po` holds every key, the needed ones first, each with what it must say and how
    English says it. `words.toml` is the English one with its comments, to be replaced line by
    line. A tag CLDR does not know gets a header line to be filled in.

    Raises:
        FileExistsError: the language is there already.
        ValueError: the tag is no language tag.
    """
    if not re.fullmatch(r"[a-z]{2,3}(-[A-Z][a-z]{3})?(-([A-Z]{2}|\d{3}))?", tag):
        raise ValueError(f"{tag!r} is no language tag; write it as sw, hi-Latn or pt-MZ")
    folder = root / tag
    if folder.exists():
        raise FileExistsError(f"{folder} is there already")
    english = load(ENGLISH, root)
    files = {folder / "messages.po": messages(tag, english)}
    heard = root / ENGLISH / "words.toml"
    if heard.is_file():
        files[folder / "words.toml"] = (
            f"# What is heard in {tag}. Begun from English: replace every word by what growers\n"
            f"# type, and take out what nobody says.\n\n{heard.read_text(encoding='utf-8')}"
        )
    return files


def messages(tag: str, english: Catalogue) -> str:
    """The catalogue of a new language with nothing said yet, as text."""
    try:
        locale = Locale.parse(tag, sep="-")
        rule, like = plural_rule(locale), ""
    except UnknownLocaleError:
        rule = plural_rule(Locale("en"))
        like = '"X-Locale: en\\n"\n'
    lines = [
        f"# What Stirbell says, in {tag}. It awaits a native reader.",
        "#",
        "# Fill in msgstr. {name} stays as it is, wherever it goes in the sentence. Take out",
        '# "#, fuzzy" once a sentence is right: what is fuzzy or empty is said in English.',
        'msgid ""',
        'msgstr ""',
        f'"Language: {tag}\\n"',
        '"MIME-Version: 1.0\\n"',
        '"Content-Type: text/plain; charset=utf-8\\n"',
        '"Content-Transfer-Encoding: 8bit\\n"',
        f'"Plural-Forms: {rule}\\n"',
        f'{like}"X-Reader: awaited\\n"',
        "",
    ]
    forms = int(re.findall(r"nplurals=(\d+)", rule)[0])
    for name in GRADES:
        lines += [f"# {name}: {ORIGIN[name]}", ""]
        for entry in english.entries:
            if grade(entry.key, english) == name:
                lines += _blank(entry, forms)
    return "\n".join(lines)


def _blank(entry: Entry, forms: int) -> Iterator[str]:
    if entry.about:
        yield f"#. {entry.about}"
    yield from (f"#. English: {line}" for form in entry.forms for line in form.splitlines())
    yield f"msgid {normalize(entry.key)}"
    if entry.plural:
        yield f"msgid_plural {normalize(entry.key)}"
        yield from (f'msgstr[{n}] ""' for n in range(forms))
    else:
        yield 'msgstr ""'
    yield ""
