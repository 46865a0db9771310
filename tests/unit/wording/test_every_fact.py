"""The gate that keeps every author honest: whatever the bot can say has words.

A failure names the fact and the key. To mend it, add the key to locales/en/messages.po near those
it belongs with: a comment that says what it must say, msgid, msgstr.
"""

from __future__ import annotations

from bot.wording import faults
from bot.wording.catalogue import tags

AWAITED: frozenset[str] = frozenset()
"""Languages that may still fall back to English; a new one begins here."""


def test_every_fact_and_term_has_english_words_and_no_catalogue_differs() -> None:
    complete = tuple(tag for tag in tags() if tag not in AWAITED)
    found = faults.faults(complete=complete)
    assert not found, "\n" + "\n".join(found)


def test_every_fact_is_said_in_every_language_at_its_widest_and_barest() -> None:
    found = [line for lines in faults.wordless().values() for line in lines]
    assert not found, "\n" + "\n".join(found)
