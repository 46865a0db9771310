"""Plural categories against CLDR, from its published rules and as Babel carries them."""

from __future__ import annotations

from decimal import Decimal

import polib
import pytest
from babel import Locale

from bot.wording.catalogue import LOCALES, load, parse, plural_rule, tags

# Source: Unicode CLDR 47, supplemental plurals.json (unicode-org/cldr-json), cardinal rules:
# en sw one i=1,v=0; hi bn am one i=0 or n=1; es te ta one n=1; fr pt one i=0,1; ar six categories.
# The form is the place of the category in the order zero one two few many other.
CLDR = [
    ("hi", "0", "one"), ("hi", "0.5", "one"), ("hi", "1", "one"), ("hi", "2", "other"),
    ("bn", "0", "one"), ("am", "0", "one"),
    ("en", "0", "other"), ("en", "1", "one"), ("en", "1.5", "other"),
    ("sw", "0", "other"), ("sw", "1", "one"),
    ("es", "0", "other"), ("es", "1", "one"), ("es", "1.5", "other"),
    ("te", "0", "other"), ("te", "1", "one"), ("ta", "1", "one"),
    ("fr", "0", "one"), ("fr", "1", "one"), ("fr", "1.5", "one"), ("fr", "2", "other"),
    ("pt", "0", "one"), ("pt", "1.5", "one"), ("pt", "2", "other"),
    ("pt-PT", "0", "other"), ("pt-PT", "1", "one"),
    ("ar", "0", "zero"), ("ar", "1", "one"), ("ar", "2", "two"), ("ar", "3", "few"),
    ("ar", "10", "few"), ("ar", "11", "many"), ("ar", "99", "many"), ("ar", "100", "other"),
    ("ar", "101", "other"), ("ar", "102", "other"), ("ar", "103", "few"), ("ar", "111", "many"),
]  # fmt: skip

MILLIONS = ("es", "fr", "pt")
"""Their "many" begins at 1 000 000; gettext catalogues leave it out (see plural_rule)."""

ORDER = ("zero", "one", "two", "few", "many", "other")


@pytest.mark.parametrize(("tag", "n", "category"), CLDR)
def test_a_number_takes_the_plural_form_cldr_gives_it(tag: str, n: str, category: str) -> None:
    locale = Locale.parse(tag, sep="-")
    rule = plural_rule(locale)
    read = parse(tag, f'msgid ""\nmsgstr ""\n"Plural-Forms: {rule}\\n"\n')
    spoken = locale.plural_form.tags - ({"many"} if tag[:2] in MILLIONS else set())
    categories = sorted({*spoken, "other"}, key=ORDER.index)
    assert categories[read.plural(Decimal(n))] == category


@pytest.mark.parametrize("tag", MILLIONS)
def test_a_million_takes_the_last_form_where_cldr_has_one_of_its_own(tag: str) -> None:
    assert Locale(tag).plural_form(1_000_000) == "many"
    rule = plural_rule(Locale(tag))
    read = parse(tag, f'msgid ""\nmsgstr ""\n"Plural-Forms: {rule}\\n"\n')
    assert read.plural(Decimal(1_000_000)) == read.plural(Decimal(2)) == 1


@pytest.mark.parametrize("tag", ["en", "sw", "es", "ta", "ar", "hi", "fr"])
def test_one_point_nought_is_said_as_one(tag: str) -> None:
    # Trap: CLDR (and Babel 2.18) tell 1.0 from 1 in English and Swahili by its visible decimal;
    # we never print it, so both take the form of 1.
    rule = plural_rule(Locale(tag))
    read = parse(tag, f'msgid ""\nmsgstr ""\n"Plural-Forms: {rule}\\n"\n')
    assert read.plural(Decimal("1.0")) == read.plural(Decimal(1))


def test_reading_agrees_with_polib() -> None:
    # Source: polib 1.2.0, an independent reader of gettext .po files.
    for tag in tags():
        theirs = {
            entry.msgid: tuple(entry.msgstr_plural.values()) or (entry.msgstr,)
            for entry in polib.pofile(str(LOCALES / tag / "messages.po"))
            if not entry.obsolete
        }
        ours = {entry.key: entry.forms for entry in load(tag).entries}
        assert ours == theirs
