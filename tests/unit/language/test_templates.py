"""Templates are grown, found in a message, and refused where they are broken."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from bot.craft.units import Quantity
from bot.facts import Request, Term
from bot.language.cues import compile_cues
from bot.language.examples import hearing
from bot.language.lexicon import LOCALES
from bot.language.slips import Slips
from bot.language.templates import Branch, TemplateError, grow, hits, parse
from bot.language.understand import compile_all, tongues, understand


def found(template: str, message: str) -> list[tuple[int, int, int]]:
    root = Branch()
    root.graft(grow(parse(template), Branch(ends=("it",)), str.split))
    symbols = [((word, 10),) for word in message.split()]
    return [(hit.start, hit.end, hit.weight) for hit in hits(root, symbols, {}, {9})]


def test_a_choice_and_what_may_be_missing() -> None:
    assert found("how (much|many) [culture]", "how much culture") == [(0, 2, 20), (0, 3, 30)]
    assert found("how (much|many) [culture]", "how few") == []


def test_a_run_of_free_words_reaches_to_the_end_or_to_the_next_word() -> None:
    assert found("i live in ~place", "i live in green hill") == [(0, 5, 31)]
    assert found("in ~place here", "in green hill here") == [(0, 4, 21)]


@pytest.mark.parametrize("broken", ["how (much", "how much)", "how (much|)", "[]", "<use", ""])
def test_a_broken_template_is_refused(broken: str) -> None:
    with pytest.raises(TemplateError):
        parse(broken)


@pytest.mark.parametrize(
    ("table", "says"),
    [
        ({"requests": {"mix": {"cues": "how (much"}}}, "zz: requests.mix: a bracket"),
        ({"requests": {"mix": {"cues": "dilute -> colour=red"}}}, "zz: requests.mix: no slot"),
        ({"requests": {"dance": {"cues": "dance"}}}, "zz: requests.dance: no such kind"),
        ({"terms": {"use": {"leaf": "(leaf"}}}, "zz: terms.use.leaf: a bracket"),
    ],
)
def test_a_fault_names_its_language_and_table(table: dict[str, object], says: str) -> None:
    with pytest.raises(TemplateError, match=says):
        compile_cues("zz", table, {})


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("stirred", "stirred"),
        ("stired", "stirred"),
        ("sitrred", "stirred"),
        ("strrd", "stirred"),
        ("stirrrred", "stirred"),
        ("barels", "barrels"),
        ("brrls", "barrels"),
        ("st", ""),
        ("xtirred", ""),
        ("seed", ""),
        ("9stirred", ""),
        ("", ""),
    ],
)
def test_a_slip_finds_the_word_that_was_meant(typed: str, meant: str) -> None:
    slips = Slips(steady=frozenset({"seed"}))
    for word in ("stirred", "barrels", "need", "steed"):
        slips.add(word)
    slips.ready()
    symbols = slips.symbols(typed)
    assert (symbols[0][0] if symbols else "") == meant


def test_beginnings_and_ends_of_words_are_heard() -> None:
    slips = Slips()
    slips.add("stir*")
    slips.add("*koroga")
    slips.ready()
    assert slips.symbols("stirring") == (("stir*", 9),)
    assert slips.symbols("nimekoroga") == (("*koroga", 9),)


PLANET = '''
[language]
name = "Planet"

[talk]
example = "zor bli"
slight = "ka"

[terms.use]
leaf = "bli"

[requests.mix]
example = "zor bli"
cues = """
zor <use>
"""

[requests.dance]
example = "hop 3 bla"
cues = """
# steps may be told

hop [<number>] ~partner
"""

[requests.dance.slots]
partner = "free"
steps = "number"

[examples.requests]
said = """
zor ka bli => mix use=leaf
"""
'''


def test_a_language_and_a_kind_are_added_by_being_there(tmp_path: Path) -> None:
    folder = tmp_path / "xx"
    folder.mkdir()
    (folder / "words.toml").write_text(PLANET, encoding="utf-8")
    (tmp_path / "en").symlink_to(LOCALES / "en")
    heard = tongues(tmp_path)
    assert set(heard) == {"en", "xx"}
    understood = understand("zor ka bli", heard, hearing("xx"))
    assert understood.requests == (Request("mix", {"use": Term("use", "leaf")}),)
    understood = understand("hop 3 Asha", heard, hearing("xx"))
    assert understood.requests == (Request("dance", {"partner": "Asha", "steps": 3}),)
    understood = understand("zor bli", heard, hearing(""))
    assert understood.language == "xx"


def test_every_language_can_be_compiled_before_anybody_writes() -> None:
    heard = tongues()
    compile_all(heard)
    assert all(tongue.cues.lines for tongue in heard.values())


def test_a_word_far_from_a_value_does_not_name_it() -> None:
    far = "tank of " + "x " * 14 + "and 3 pumps 16 l leaf"
    understood = understand(far, tongues(), hearing("en"))
    assert understood.requests[0].slots["tank"] == Quantity(Decimal(16), "litre")
