"""What the program can say is found by being there."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

from bot.wording import sources

MODULE = """
from dataclasses import dataclass
from bot.facts import Fact, Term, Count
import bot.facts as f

@dataclass(frozen=True, slots=True)
class Abstract(Fact):
    code: str

@dataclass(frozen=True, slots=True)
class Sown(Abstract):
    words = "sown"
    seeds: int

def said(name, *more):
    (lambda: None)()
    return (Term("use", "leaf"), Term("crop", name), Term(name, name), f.Count(3, "tank"),
            Count(3, name), f.Every(2, "week"), Term("a", "b", "c"), ("x")[0].upper())
"""


@pytest.fixture
def package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[ModuleType]:
    room = tmp_path / "invented" / "room"
    room.mkdir(parents=True)
    for folder in (room.parent, room):
        (folder / "__init__.py").touch()
    (room / "sowing.py").write_text(MODULE, encoding="utf-8")
    (room / "brew.toml").write_text(
        'name = "brew"\nn = 3\n[uses.soil]\nsteps = ["strain", "shade"]\n', encoding="utf-8"
    )
    (room.parent / "__main__.py").write_text("raise SystemExit\n", encoding="utf-8")
    monkeypatch.syspath_prepend(tmp_path)
    yield importlib.import_module("invented")
    for name in [name for name in sys.modules if name.partition(".")[0] == "invented"]:
        del sys.modules[name]


def test_facts_are_found_wherever_they_are_defined(package: ModuleType) -> None:
    [kind] = sources.facts(package)
    assert kind.__qualname__ == "Sown"
    assert sources.field_names(kind) == {"code", "seeds"}


def test_terms_named_in_the_source_are_found_with_their_line(package: ModuleType) -> None:
    found = sources.named(package)
    assert {each.key for each in found} == {"use.leaf", "crop.*", "noun.tank", "every.week"}
    assert {each.where.partition(":")[0] for each in found} == {"invented/room/sowing.py"}


def test_every_string_in_the_source_counts_as_a_use(package: ModuleType) -> None:
    assert {"sown", "leaf"} <= sources.strings(package)


def test_terms_of_a_recipe_file_count_as_a_use(package: ModuleType) -> None:
    found = sources.tabled(package)
    assert found == {"name", "brew", "n", "uses", "soil", "steps", "strain", "shade"}
