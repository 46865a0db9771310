"""What replies cost by SMS in every language that can be said, at their widest values.

Nothing here names a language: each catalogue that is there is measured, and once more in plain
letters where these make it shorter.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache

import pytest

from bot.wording.catalogue import ENGLISH, load, tags
from bot.wording.costs import Cost, Share, costs, segments_table, shares
from bot.wording.segments import is_gsm, plain

AT_LEAST_IN_ONE = 0.95

ALIKE: Mapping[str, frozenset[str]] = {
    "es": frozenset(
        {"aun", "como", "cual", "cuando", "esta", "que", "si", "solo", "mas"}
        | {"agrego", "anoto", "cambio", "paso"}
    ),
    "fr": frozenset({"jeune", "mais"}),
    "pt": frozenset({"da", "de", "e", "esta", "ha", "pode", "por", "que", "tem", "vem"}),
}
"""Words that are two words without their accents, and are told apart by where they stand.

Question words and their answers (como, cual, cuando, que), a verb beside a particle or a pronoun
(esta, da, de, por, tem), yes beside if (si). `ha`: há stands before a time or at the beginning,
hectare after a number. Who did it (agrego, anoto, cambio, paso; pode, vem), said of one who is
named beside it. Maize among crops, fasting among days off (mais, jeune). No reader of these
languages has checked it yet.
"""


@lru_cache(maxsize=1)
def measured() -> tuple[Cost, ...]:
    return costs()


@lru_cache(maxsize=1)
def summed() -> dict[str, Share]:
    return {share.name: share for share in shares(measured())}


@pytest.mark.slow
def test_every_language_that_can_be_said_is_measured() -> None:
    assert {name.partition(" ")[0] for name in summed()} == set(tags())
    assert summed()[ENGLISH].replies > 300


@pytest.mark.slow
def test_nineteen_of_twenty_replies_go_in_one_sms_where_the_alphabet_is_the_phones_own() -> None:
    short = [share for share in summed().values() if share.gsm == share.replies]
    assert short
    few = [str(share) for share in short if share.one < AT_LEAST_IN_ONE * share.replies]
    assert not few, "\n".join(few)


@pytest.mark.slow
def test_no_message_takes_more_than_two_sms_in_ucs2_and_one_in_gsm() -> None:
    long = [
        f"{cost.tag} {cost.words}: {cost.segments}"
        for cost in measured()
        if cost.segments > (1 if cost.alphabet == "GSM-7" else 2)
    ]
    assert not long, "\n".join(long)


@pytest.mark.slow
def test_english_costs_the_phones_own_alphabet_throughout() -> None:
    assert summed()[ENGLISH].gsm == summed()[ENGLISH].replies


@pytest.mark.slow
def test_plain_letters_bring_a_latin_script_down_to_the_phones_own_alphabet() -> None:
    plains = [share for name, share in summed().items() if name.endswith(" plain")]
    assert all(share.gsm == share.replies for share in plains), plains


@pytest.mark.slow
def test_the_table_has_a_line_for_each_reply_and_each_language() -> None:
    lines = segments_table().splitlines()
    assert len(lines) == 1 + len(measured()) + 1 + len(summed())
    assert lines[-len(summed())].startswith("en: ")


def _words(tag: str) -> set[str]:
    texts = [form for entry in load(tag).entries for form in entry.forms]
    return {
        word.lower()
        for text in texts
        for word in re.findall(r"[^\W\d_]+", re.sub(r"\{.*?\}", " ", text))
    }


@pytest.mark.parametrize("tag", tags())
def test_a_dropped_accent_never_makes_another_word_of_one(tag: str) -> None:
    """Each word that would become another is in the list above, with why it does no harm."""
    became: dict[str, set[str]] = {}
    for word in _words(tag):
        folded = plain(word)
        if not folded.left:
            became.setdefault(folded.text, set()).add(word)
    alike = {folded: words for folded, words in became.items() if len(words) > 1}
    unheard_of = {folded: words for folded, words in alike.items() if folded not in _known(tag)}
    assert not unheard_of


def _known(tag: str) -> frozenset[str]:
    return ALIKE.get(tag.partition("-")[0], frozenset())


@pytest.mark.parametrize("tag", tags())
def test_a_dropped_accent_changes_no_unit_and_no_number(tag: str) -> None:
    """Units and counted things keep their names, or lose an accent and stay one of a kind."""
    names: dict[str, set[str]] = {}
    for entry in load(tag).entries:
        if entry.key.partition(".")[0] in {"unit", "noun", "every", "use", "verdict"}:
            for form in entry.forms:
                folded = plain(form.lower())
                assert folded.left or is_gsm(folded.text)
                assert re.sub(r"\D", "", folded.text) == re.sub(r"\D", "", form)
                names.setdefault(folded.text, set()).add(form.lower())
    assert {name: forms for name, forms in names.items() if len(forms) > 1} == {}
