"""Recipes read from TOML: the shipped ones and a group's own, with the mend of every fault."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Mapping
from decimal import Decimal
from difflib import get_close_matches
from functools import lru_cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Final, get_args

import msgspec

from bot.craft.cautions import KEYS
from bot.craft.recipe import (
    Ingredient,
    Mark,
    PerWhat,
    Ready,
    Recipe,
    Role,
    Source,
    Unit,
    Use,
    faults,
)

LONGEST_NAME = 40

_AT = re.compile(r"^(?P<what>.*?)(?: - at `\$\.?(?P<field>.*)`)?$", re.DOTALL)
_TABLES: Final[Mapping[str, Any]] = {
    "sources": Source,
    "ingredients": Ingredient,
    "ready": Ready,
    "uses": Use,
}
_ONE_OF: Final[Mapping[str, tuple[str, ...]]] = {
    "mark": get_args(Mark),
    "unit": get_args(Unit),
    "per": get_args(PerWhat),
    "role": get_args(Role),
}
_MISSING = re.compile(r"Object missing required field `(?P<name>.*)`")


class RecipeError(ValueError):
    """A recipe cannot be read: `file`, the `field` in it, and the `mend`, as one line."""

    def __init__(self, file: str, field: str, mend: str) -> None:
        super().__init__(f"{file}: {field}: {mend}" if field else f"{file}: {mend}")
        self.file = file
        self.field = field
        self.mend = mend


def recipe_from(text: str, file: str) -> Recipe:
    """The recipe written in TOML; `file` is named in errors.

    Raises:
        RecipeError: the text is not TOML, a field is missing, unknown or of the wrong type, or
            a figure is out of its range. The first fault found, with its mend.
    """
    try:
        plain = tomllib.loads(text, parse_float=Decimal)
    except (tomllib.TOMLDecodeError, RecursionError) as fault:
        raise RecipeError(file, "", f"is not TOML: {fault}") from fault
    return recipe_of(plain, file)


def recipe_of(plain: Mapping[str, Any], file: str) -> Recipe:
    """The recipe in plain values, as TOML gives them or `as_plain` wrote them into the record.

    Raises:
        RecipeError: a field is missing, unknown or of the wrong type, a figure is out of its
            range, or a hazard is no caution. The first fault found, with its mend.
    """
    for field, name, known in _unknown(plain):
        near = get_close_matches(name, known, 1)
        mend = f"write '{near[0]}'" if near else "take it out"
        raise RecipeError(file, f"{field}{name}", f"is no field of a recipe; {mend}")
    try:
        recipe = msgspec.convert(plain, Recipe)
    except msgspec.ValidationError as fault:
        raise _explained(file, str(fault)) from fault
    for field, name in _names(recipe):
        if not is_key(name):
            raise RecipeError(file, field, f"'{name}' must be a key: small letters, digits, _ or -")
    for hazard in recipe.hazards:
        if hazard not in KEYS:
            near = get_close_matches(hazard, sorted(KEYS), 1)
            mend = f"write '{near[0]}'" if near else "take it out, or add it as your own caution"
            raise RecipeError(file, "hazards", f"'{hazard}' is no caution; {mend}")
    for field, mend in faults(recipe):
        raise RecipeError(file, field, mend)
    return recipe


def as_plain(recipe: Recipe) -> dict[str, Any]:
    """The recipe in JSON types for the record; decimals as text. `recipe_of` reads it back."""
    plain: dict[str, Any] = msgspec.to_builtins(recipe)
    return plain


@lru_cache(maxsize=1)
def shipped() -> Mapping[str, Recipe]:
    """Every recipe that lies in this room, by kind; a new file is found by being there.

    Raises:
        RecipeError: one of them cannot be read, or its kind is not its file's name.
    """
    found: dict[str, Recipe] = {}
    for entry in sorted(files("bot.recipes").iterdir(), key=lambda each: each.name):
        if entry.name.endswith(".toml"):
            recipe = recipe_from(entry.read_text(encoding="utf-8"), entry.name)
            if f"{recipe.kind}.toml" != entry.name:
                raise RecipeError(entry.name, "kind", f"must be '{entry.name[:-5]}', as the file")
            found[recipe.kind] = recipe
    for recipe in found.values():
        if recipe.on is not None and recipe.on not in found:
            raise RecipeError(f"{recipe.kind}.toml", "on", f"there is no recipe '{recipe.on}'")
    return MappingProxyType(found)


def is_key(name: str) -> bool:
    """Whether a name can be a key: small letters of any script, digits, single `_` or `-`.

    >>> is_key("fish_brew"), is_key("मछली_घोल"), is_key("Fish brew")
    (True, True, False)
    """
    parts = re.split("[_-]", name)
    return (
        name == name.lower()
        and len(name) <= LONGEST_NAME
        and name[:1].isalpha()
        and all(part and all(_in_key(each) for each in part) for part in parts)
    )


def _in_key(letter: str) -> bool:
    return letter.isalnum() or unicodedata.category(letter).startswith("M")


def _explained(file: str, said: str) -> RecipeError:
    parts = _AT.match(said)
    what, field = (parts["what"], parts["field"] or "") if parts else (said, "")
    if missing := _MISSING.match(what):
        name = f"{field}.{missing['name']}" if field else missing["name"]
        return RecipeError(file, name, "is missing; write it")
    one_of = _ONE_OF.get(field.rpartition(".")[2])
    if one_of:
        return RecipeError(file, field, f"write one of: {', '.join(one_of)}")
    return RecipeError(file, field, what[:1].lower() + what[1:])


def _unknown(plain: Mapping[str, object]) -> list[tuple[str, str, tuple[str, ...]]]:
    """Each name that is no field: where it stands, the name, and the fields known there."""
    found: list[tuple[str, str, tuple[str, ...]]] = []

    def look(table: Mapping[str, object], known: tuple[str, ...], field: str) -> None:
        found.extend((field, name, known) for name in table if name not in known)

    look(plain, tuple(Recipe.__dataclass_fields__), "")
    for name, kind in _TABLES.items():
        value = plain.get(name)
        rows = value if isinstance(value, list) else [value]
        for place, row in enumerate(rows):
            if isinstance(row, dict):
                at = f"{name}[{place}]." if isinstance(value, list) else f"{name}."
                look(row, tuple(kind.__dataclass_fields__), at)
    return found


def _names(recipe: Recipe) -> list[tuple[str, str]]:
    """Every key of the catalogues in a recipe, with its field."""
    return [
        ("kind", recipe.kind),
        ("cover", recipe.cover),
        *(("steps", name) for name in recipe.steps),
        *(("hazards", name) for name in recipe.hazards),
        *(("ready.signs", name) for name in recipe.ready.signs),
        *(("ready.spoilt", name) for name in recipe.ready.spoilt),
        *((f"ingredients[{n}].name", each.name) for n, each in enumerate(recipe.ingredients)),
        *((f"uses[{n}].name", use.name) for n, use in enumerate(recipe.uses)),
        *((f"uses[{n}].notes", note) for n, use in enumerate(recipe.uses) for note in use.notes),
    ]
