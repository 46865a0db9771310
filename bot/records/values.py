"""Values of `facts` as JSON and back, for what must outlast the exchange: an open question."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

from bot import facts
from bot.craft.units import Quantity

_KINDS: dict[str, type] = {
    kind.__name__: kind
    for kind in (
        Quantity,
        facts.Count,
        facts.Ratio,
        facts.Per,
        facts.Every,
        facts.Duration,
        facts.Span,
        facts.Term,
        facts.Request,
    )
}


def pack(value: Any) -> Any:
    """JSON types that `unpack` turns back into the same value.

    >>> unpack(pack((Decimal("1.5"), date(2026, 3, 1)))) == (Decimal("1.5"), date(2026, 3, 1))
    True

    Raises:
        TypeError: the value is of no kind that may wait in a question.
    """
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, tuple | list):
        return [pack(each) for each in value]
    if isinstance(value, dict):
        return {"$": "map", "of": {key: pack(each) for key, each in value.items()}}
    plain = {Decimal: str, float: str, datetime: datetime.isoformat}
    for kind, write in plain.items():
        if isinstance(value, kind):
            return {"$": kind.__name__, "of": write(value)}  # type: ignore[operator]
    if isinstance(value, date | time):
        return {"$": type(value).__name__, "of": value.isoformat()}
    if is_dataclass(value) and type(value).__name__ in _KINDS:
        return {
            "$": type(value).__name__,
            "of": {part.name: pack(getattr(value, part.name)) for part in fields(value)},
        }
    raise TypeError(f"{type(value).__name__} cannot wait in a question")


def unpack(packed: Any) -> Any:
    """The value that `pack` was given; a list comes back as a tuple."""
    if isinstance(packed, list):
        return tuple(unpack(each) for each in packed)
    if not isinstance(packed, dict):
        return packed
    kind, of = packed["$"], packed["of"]
    if kind == "map":
        return {key: unpack(each) for key, each in of.items()}
    if kind in _KINDS:
        return _KINDS[kind](**{key: unpack(each) for key, each in of.items()})
    readers: dict[str, Any] = {
        "Decimal": Decimal,
        "float": float,
        "datetime": datetime.fromisoformat,
        "date": date.fromisoformat,
        "time": time.fromisoformat,
    }
    return readers[kind](of)
