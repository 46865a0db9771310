"""Facts filled with the widest values a group is likely to have, and with the barest."""

from __future__ import annotations

import tomllib
import types
import typing
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any

from bot.craft.units import Quantity
from bot.facts import Count, Duration, Every, Fact, Hour, Per, Ratio, Span, Term
from bot.wording import sources
from bot.wording.catalogue import ENGLISH, LOCALES, load
from bot.wording.values import Speaker
from bot.wording.voice import Voice

NAME = "lower terrace"
"""A plot, barrel or member name as long as growers give them. Invented."""

CODES = frozenset({"code", "batch", "barrel", "key", "heap"})
"""Fields that hold a short name such as B12."""


def widest(kind: type[Fact], speaker: Speaker) -> Fact:
    """A fact of this kind whose every value is as wide as it gets in the speaker's language.

    A kind may name its own widest values in a class variable `widest`, for what types cannot say.

    Raises:
        TypeError: a field's type has no words; the sentence names the fact and the field.
    """
    own: dict[str, Any] = getattr(kind, "widest", {})
    hints = typing.get_type_hints(kind)
    values = {}
    for each in fields(kind):
        if each.name in own:
            values[each.name] = own[each.name]
            continue
        try:
            values[each.name] = _wide(each.name, hints[each.name], speaker)
        except TypeError as fault:
            raise TypeError(f"{kind.__module__}.{kind.__qualname__}.{each.name}: {fault}") from None
    return kind(**values)


def barest(kind: type[Fact], speaker: Speaker) -> Fact:
    """The same with nothing in every field that may be empty."""
    full = widest(kind, speaker)
    hints = typing.get_type_hints(kind)
    values = {each.name: _bare(hints[each.name], getattr(full, each.name)) for each in fields(kind)}
    return kind(**values)


def _bare(hint: Any, full: Any) -> Any:
    if type(None) in typing.get_args(hint):
        return None
    return () if isinstance(full, tuple) and full[3:] == () and _is_series(hint) else full


def _is_series(hint: Any) -> bool:
    return typing.get_origin(hint) is tuple and typing.get_args(hint)[1:] == (Ellipsis,)


def _wide(name: str, hint: Any, speaker: Speaker) -> Any:  # noqa: C901, PLR0911 - one line a type
    origin, args = typing.get_origin(hint), typing.get_args(hint)
    if origin in {types.UnionType, typing.Union}:
        choices = [_wide(name, arg, speaker) for arg in args if arg is not type(None)]
        return max(choices, key=lambda choice: len(speaker.value(choice)))
    if origin is typing.Literal:
        return max(args, key=len)
    if origin is tuple and _is_series(hint):
        return (_wide(name.removesuffix("s"), args[0], speaker),) * 3
    if origin is tuple:
        return tuple(_wide(name, arg, speaker) for arg in args)
    if hint is Term:
        return _term(name, speaker)
    if hint is date:
        return _day(speaker)
    if hint is Count:
        return Count(Decimal(188), _noun(name, speaker))
    if hint is Quantity:
        return _quantity(name)
    if hint is str and name == "example":
        return _example(speaker)
    if hint is str:
        return "B12" if name in CODES else NAME
    if hint is Any or hint is Fact:
        return NAME
    if isinstance(hint, type) and issubclass(hint, Fact):
        return widest(hint, speaker)
    if hint in _PLAIN:
        return _PLAIN[hint]
    if isinstance(hint, type) and is_dataclass(hint):
        inner = typing.get_type_hints(hint)
        return hint(
            **{each.name: _wide(each.name, inner[each.name], speaker) for each in fields(hint)}
        )
    raise TypeError(f"a value of type {getattr(hint, '__name__', hint)} has no words")


_PLAIN: dict[Any, Any] = {
    bool: True,
    int: 28,
    Decimal: Decimal("188.5"),
    time: time(18, 30),
    datetime: datetime(2026, 9, 23, 18, 30, tzinfo=UTC),
    Hour: Hour(datetime(2026, 9, 23, 18, 30, tzinfo=UTC)),
    Every: Every(15, "day"),
    Duration: Duration(Decimal(30), "day"),
    Ratio: Ratio(Decimal(1), Decimal(10)),
    Per: Per(Quantity(Decimal(250), "millilitre"), Count(Decimal(1), "plant")),
    Span: Span(Quantity(Decimal("188.5"), "litre"), Quantity(Decimal("201.5"), "litre")),
}


def _quantity(name: str) -> Quantity:
    if "temperature" in name or name in {"air", "low", "high"}:
        return Quantity(Decimal("28.5"), "degree_celsius")
    if "area" in name or "land" in name:
        return Quantity(Decimal("2.25"), "hectare")
    return Quantity(Decimal("1188.5"), "litre")


def _noun(name: str, speaker: Speaker) -> str:
    noun = name.removesuffix("s")
    return noun if speaker.knows(f"noun.{noun}") else "tank"


def _term(name: str, speaker: Speaker) -> Term:
    """The longest term of the kind the field is named for, else the longest use or recipe."""
    whole = {kind.words for kind in sources.facts()}
    known = load(ENGLISH, speaker.root).messages
    # `recipe.made` is a whole message, `recipe.mother` a name.
    keys = [key for key in known if key.removesuffix(".short") not in whole]
    kinds = [(name,), ("use", "recipe")]
    for wanted in kinds:
        terms = [Term(*key.split(".", 1)) for key in keys if key.partition(".")[0] in wanted]
        if terms:
            return max(terms, key=lambda term: len(speaker.value(term)))
    return Term("use", "leaf")


def _example(speaker: Speaker) -> str:
    """The longest example message of the language's own word list, else of the English one."""
    for tag in (speaker.voice.language, ENGLISH):
        path = speaker.root / tag / "words.toml"
        if path.is_file():
            found = list(_examples(tomllib.loads(path.read_text(encoding="utf-8"))))
            if found:
                return max(found, key=len)
    return NAME


def _examples(table: Mapping[str, Any]) -> Iterator[str]:
    for name, value in table.items():
        if name == "example" and isinstance(value, str):
            yield value
        elif isinstance(value, Mapping):
            yield from _examples(value)


def _day(speaker: Speaker) -> date:
    return _longest_day(speaker.voice.language, speaker.root)


@lru_cache(maxsize=64)
def _longest_day(language: str, root: Path = LOCALES) -> date:
    """The day of 2026 whose name is the longest in a language."""
    speaker = Speaker(Voice(language), root)
    days = (date(2026, 1, 1) + timedelta(days=n) for n in range(365))
    return max(days, key=lambda day: len(speaker.day(day)))
