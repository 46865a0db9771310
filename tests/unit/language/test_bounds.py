"""What is remembered between messages stays small, whatever is sent."""

import io
import runpy
import sys
from dataclasses import replace
from datetime import datetime

import pytest

from bot.language import folding, mending
from bot.language.lexicon import load, words_in
from bot.language.read import read

REF = datetime(2026, 3, 4, 10)  # noqa: DTZ001 - wall time


def test_strange_characters_fold_alike_when_the_table_of_folds_is_full(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(folding, "_KEPT", 0)
    assert folding.fold("Ǟçƒ") == folding.fold("Ǟçƒ") == "acƒ"
    assert folding.clean("a\u3000b\u2066c") == ("a bc", False)


def test_slips_are_mended_alike_when_the_memory_of_them_is_full(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(mending, "_KEPT", 0)
    lexicon = replace(load("en"), memory={})
    for _ in range(2):
        assert read("3 tnaks", lexicon, REF).of("count")
    assert not lexicon.memory


def test_the_words_of_a_table_are_found_at_any_depth_but_for_examples_and_slots() -> None:
    table = {"a": ["Leaf|(spray)", {"b": "{tanks} of"}], "examples": {"c": "no"}, "d": 3}
    assert words_in(table) == {"leaf", "spray", "of"}


def test_the_reader_runs_as_a_program(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO('{"text": "2 l", "lang": "en"}\n'))
    with pytest.raises(SystemExit) as ended:
        runpy.run_module("bot.language", run_name="__main__")
    assert ended.value.code == 0
    assert '"litre"' in capsys.readouterr().out
