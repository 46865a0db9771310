"""What the program can say, found by being there: its facts, and the terms named in its source."""

from __future__ import annotations

import ast
import importlib
import pkgutil
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, fields
from functools import lru_cache
from pathlib import Path
from types import ModuleType
from typing import Any

import bot
from bot.craft.units import known
from bot.facts import Fact
from bot.wording.catalogue import ENGLISH, LOCALES

_KINDS = {"Count": "noun", "Every": "every", "Duration": "noun", "Quantity": "unit"}
"""Values whose last argument names something that needs words, and under which prefix."""


@dataclass(frozen=True, slots=True)
class Named:
    """A key that the source needs words for, and where it says so; `key` may end in `.*`."""

    key: str
    where: str


def facts(package: ModuleType = bot) -> tuple[type[Fact], ...]:
    """Every kind of fact defined in the package, by its module and name; imports all of it."""
    for module in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    found = set(_below(Fact))
    here = [
        kind
        for kind in found
        if kind.__module__.partition(".")[0] == package.__name__
        # A dataclass with slots leaves its first self behind, which nobody can name.
        and getattr(sys.modules[kind.__module__], kind.__qualname__, None) is kind
        and hasattr(kind, "words")
    ]
    return tuple(sorted(here, key=lambda kind: (kind.__module__, kind.__qualname__)))


def _below(kind: type[Fact]) -> Iterator[type[Fact]]:
    for below in kind.__subclasses__():
        yield below
        yield from _below(below)


def named(package: ModuleType = bot) -> tuple[Named, ...]:
    """Every term, noun and unit that the source names outright, each with its file and line.

    `Term("use", "leaf")` needs "use.leaf"; `Term("use", name)` shows only that "use.*" is used.
    """
    top = Path(package.__path__[0])
    found: list[Named] = []
    for path in sorted(top.rglob("*.py")):
        calls, _ = _written(path, path.stat().st_mtime_ns)
        found += [Named(key, f"{path.relative_to(top.parent)}:{line}") for key, line in calls]
    return tuple(found)


def _key(call: ast.Call) -> str:
    """The key that a value written in the source needs, or nothing."""
    name = call.func.attr if isinstance(call.func, ast.Attribute) else ""
    name = call.func.id if isinstance(call.func, ast.Name) else name
    texts = [arg.value if isinstance(arg, ast.Constant) else None for arg in call.args]
    if len(texts) != 2:
        return ""
    first, last = texts
    if name == "Term" and isinstance(first, str):
        return f"{first}.{last}" if isinstance(last, str) else f"{first}.*"
    if name in _KINDS and isinstance(last, str):
        return f"{_KINDS[name]}.{last}"
    return ""


def tabled(package: ModuleType = bot) -> frozenset[str]:
    """Every name and string in the package's TOML files, where recipes name their terms."""
    paths = Path(package.__path__[0]).rglob("*.toml")
    return frozenset(
        text
        for path in paths
        if "locales" not in path.parts
        for text in _texts(tomllib.loads(path.read_text(encoding="utf-8")))
    )


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for name, inner in value.items():
            yield name
            yield from _texts(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _texts(inner)


def heard(root: Path = LOCALES) -> frozenset[str]:
    """Every term, noun, span and unit that English hears, as the keys that say it back."""
    path = root / ENGLISH / "words.toml"
    if not path.is_file():
        return frozenset()
    names = tomllib.loads(path.read_text(encoding="utf-8"))
    terms = {
        f"{kind}.{term}"
        for kind, all_ in names["terms"].items()
        for term in all_
        if kind != "unit"  # a unit to reckon into, said as what was measured
    }
    nouns = set(names["nouns"]["names"])
    spans = {span.rpartition(" ")[2] for span in names["spans"]["names"]}
    units = set(filter(known, names["units"]["names"]))
    return frozenset(
        terms
        | {f"{kind}.{name}" for kind in ("noun", "each") for name in nouns | spans}
        | {f"every.{name}" for name in spans}
        | {f"{kind}.{name}" for kind in ("unit", "each") for name in units}
    )


def strings(package: ModuleType = bot) -> frozenset[str]:
    """Every string written in the source: a key among them is in use."""
    paths = Path(package.__path__[0]).rglob("*.py")
    return frozenset().union(*(_written(path, path.stat().st_mtime_ns)[1] for path in paths))


@lru_cache(maxsize=1024)
def _written(path: Path, _changed_ns: int) -> tuple[tuple[tuple[str, int], ...], frozenset[str]]:
    """The keys that one file names, with their lines, and all of its strings."""
    nodes = list(ast.walk(ast.parse(path.read_text(encoding="utf-8"))))
    calls = ((_key(node), node.lineno) for node in nodes if isinstance(node, ast.Call))
    texts = (node.value for node in nodes if isinstance(node, ast.Constant))
    return (
        tuple((key, line) for key, line in calls if key),
        frozenset(text for text in texts if isinstance(text, str)),
    )


def field_names(kind: type[Fact]) -> frozenset[str]:
    """The names a template of this kind of fact may use."""
    return frozenset(each.name for each in fields(kind))
