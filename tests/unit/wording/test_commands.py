"""The three commands: what they print, and how they fail."""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path

import pytest

from bot.facts import Fact
from bot.wording import commands, sources

HEADER = 'msgid ""\nmsgstr ""\n"Plural-Forms: nplurals=2; plural=(n != 1);\\n"\n'
MORE = '\n#. Ends a page.\nmsgid "more"\nmsgstr "More: send MORE"\n'


@dataclass(frozen=True, slots=True)
class More(Fact):
    words = "more"


@pytest.fixture
def root(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "en").mkdir()
    (tmp_path / "en" / "messages.po").write_text(HEADER + MORE, encoding="utf-8")
    monkeypatch.setattr(sources, "facts", lambda: (More,))
    monkeypatch.setattr(sources, "named", tuple)
    return tmp_path


def run(*typed: str) -> int:
    parser = argparse.ArgumentParser()
    commands.register(parser.add_subparsers())
    args = parser.parse_args(typed)
    return int(args.run(args))


def test_coverage_prints_the_table_and_passes_where_nothing_is_to_be_mended(
    root: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("coverage", "--locales", str(root)) == 0
    assert capsys.readouterr().out.split("\n")[1].split()[:4] == ["en", "0/0", "0/0", "1/1"]


def test_coverage_fails_with_a_line_a_fault(root: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = root / "en" / "messages.po"
    path.write_text(HEADER + MORE + '\n#. a\nmsgid "zz.old"\nmsgstr "x"\n', encoding="utf-8")
    assert run("coverage", "--locales", str(root)) == 1
    assert capsys.readouterr().out.endswith("\nen: zz.old: nothing says this\n")


def test_the_back_check_is_printed_for_one_language(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("coverage", "--back-check", "en") == 0
    assert capsys.readouterr().out.startswith("Cautions in en:")


def test_segments_are_printed(root: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("segments", "--locales", str(root)) == 0
    assert "1 of 1 replies in one segment" in capsys.readouterr().out


def test_a_new_language_is_written_once(root: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("new-language", "sw", "--locales", str(root)) == 0
    assert (root / "sw" / "messages.po").read_text(encoding="utf-8").count('msgid "more"') == 1
    assert run("new-language", "sw", "--locales", str(root)) == 1
    said = capsys.readouterr()
    assert "stirbell coverage" in said.out
    assert said.err == f"stirbell: {root / 'sw'} is there already\n"


@pytest.mark.parametrize("command", ["coverage", "segments"])
def test_a_broken_catalogue_is_one_line(
    command: str, root: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (root / "en" / "messages.po").write_text("msgid\n", encoding="utf-8")
    assert run(command, "--locales", str(root)) == 1
    assert capsys.readouterr().err.startswith("stirbell: ")
