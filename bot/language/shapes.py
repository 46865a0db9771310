"""What each kind of request is made of: its slots, their types, and what alone says it."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

_FILE = Path(__file__).with_name("shapes.toml")


@dataclass(frozen=True, slots=True)
class Slot:
    """A slot's type (`volume`, `count:tank`), and the slot it stands right behind, if any.

    A `named` slot is filled only where a word beside the value says so; a `free` one also takes
    words the bot has not heard before, a `bare` one a number without its unit (litres). A day in
    an `ahead` slot is a day to come, in a `past` one a day that was; in a `weekly` slot a weekday
    is the next one; in a `yearly` one a day is never months ago; of several days a `moved` one
    takes the last.
    """

    name: str
    types: tuple[str, ...]
    named: bool = False
    free: bool = False
    bare: bool = False
    ahead: bool = False
    past: bool = False
    weekly: bool = False
    yearly: bool = False
    moved: bool = False
    beside: str = ""


@dataclass(frozen=True, slots=True)
class Shape:
    """One kind of request.

    `alone` are sets of slot names (or types) that say it by themselves. `asked` is the kind it
    becomes behind a question mark: "b1 ready?" records nothing.
    """

    kind: str
    place: int
    slots: Mapping[str, Slot]
    alone: tuple[tuple[str, ...], ...] = ()
    alone_types: tuple[frozenset[str], ...] = ()
    """The same as types of values, to be looked up fast."""
    asked: str = ""
    by_type: Mapping[str, tuple[tuple[int, Slot], ...]] = field(init=False)
    """For each type the slots that take it, with their place."""

    def __post_init__(self) -> None:
        """Sort the slots by the types they take."""
        found: dict[str, tuple[tuple[int, Slot], ...]] = {}
        for order, slot in enumerate(self.slots.values()):
            for type_ in dict.fromkeys(slot.types):
                found[type_] = (*found.get(type_, ()), (order, slot))
        object.__setattr__(self, "by_type", found)


@dataclass(frozen=True, slots=True)
class Shapes:
    """Every kind by its name, and which counted nouns belong together."""

    kinds: Mapping[str, Shape]
    nouns: Mapping[str, str]
    alone: tuple[Shape, ...] = ()
    """The kinds that values alone can say."""

    def with_kinds(self, more: Mapping[str, Mapping[str, Any]]) -> Shapes:
        """These and further kinds, as a locale brings them along for a kind of its own."""
        if not more:
            return self
        first = len(self.kinds)
        added = {
            kind: _shape(kind, first + place, table)
            for place, (kind, table) in enumerate(more.items())
            if kind not in self.kinds
        }
        return _shapes({**self.kinds, **added}, self.nouns)


@lru_cache(maxsize=1)
def shapes() -> Shapes:
    """The kinds of shapes.toml."""
    table = tomllib.loads(_FILE.read_text(encoding="utf-8"))
    nouns = {noun: group for group, members in table["nouns"].items() for noun in members}
    kinds = {
        kind: _shape(kind, place, slots)
        for place, (kind, slots) in enumerate(table["kinds"].items())
    }
    return _shapes(kinds, nouns)


def _shapes(kinds: Mapping[str, Shape], nouns: Mapping[str, str]) -> Shapes:
    return Shapes(kinds, nouns, tuple(shape for shape in kinds.values() if shape.alone))


def _shape(kind: str, place: int, table: Mapping[str, Any]) -> Shape:
    slots = {}
    for name, said in table.items():
        if name not in {"alone", "asked"}:
            type_, _, beside = said.partition(" beside ")
            plain = type_.rstrip("!~#><+^")
            flags = type_.removeprefix(plain)
            slots[name] = Slot(
                name,
                tuple(plain.split("|")),
                named="!" in flags,
                free="~" in flags,
                bare="#" in flags,
                ahead=">" in flags,
                past="<" in flags,
                weekly=">" in flags or "+" in flags,
                moved="+" in flags,
                yearly=">" in flags or "+" in flags or "^" in flags,
                beside=beside,
            )
    alone = tuple(tuple(group.split()) for group in table.get("alone", ()))
    types = tuple(
        frozenset(slots[name].types[0] if name in slots else name for name in group)
        for group in alone
    )
    return Shape(kind, place, slots, alone, types, table.get("asked", ""))
