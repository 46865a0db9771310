"""Learned state as plain values for a cache; the record stays the truth, and rebuilds it equal."""

from __future__ import annotations

import base64
import struct
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import fields
from itertools import accumulate
from typing import Any, TypeVar

from bot.craft import ways
from bot.craft.learning import UNIT, Evidence, Pool
from bot.craft.ways import Model

State = TypeVar("State", Evidence, Pool)


def stored(model: Model, state: Evidence | Pool) -> dict[str, str | int]:
    """The state as JSON values, with the mark of the model it was learned under."""
    values: dict[str, str | int] = {"model": _mark(model)}
    for field in fields(state):
        value: tuple[int, ...] | int = getattr(state, field.name)
        values[field.name] = value if isinstance(value, int) else _packed(value)
    return values


def restored(model: Model, kind: type[State], values: Mapping[str, object]) -> State | None:
    """The state that was stored; None if it was learned under another model: rebuild it then.

    >>> from bot.craft.ways import model_of
    >>> restored(model_of(5, 7), Evidence, stored(model_of(5, 7), Evidence(batches=2))).batches
    2
    >>> restored(model_of(5, 8), Evidence, stored(model_of(5, 7), Evidence(batches=2))) is None
    True
    """
    if values.get("model") != _mark(model):
        return None
    known: dict[str, Any] = {field.name: values[field.name] for field in fields(kind)}
    for name, value in known.items():
        if isinstance(value, str):
            known[name] = _unpacked(value)
    return kind(**known)


def _mark(model: Model) -> int:
    """Another number for another model, grid or unit."""
    grid = ways.OFFSETS, ways.CENTRES, ways.KEPT_STEPS, UNIT
    return zlib.crc32(repr((model, grid)).encode())


def _packed(numbers: Sequence[int]) -> str:
    steps = [value - before for value, before in zip(numbers, (0, *numbers), strict=False)]
    return base64.b85encode(zlib.compress(struct.pack(f"<{len(steps)}q", *steps), 9)).decode()


def _unpacked(text: str) -> tuple[int, ...]:
    raw = zlib.decompress(base64.b85decode(text))
    return tuple(accumulate(struct.unpack(f"<{len(raw) // 8}q", raw)))
