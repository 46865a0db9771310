"""Amounts made certain before a request is answered: own measures, and units that places share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from decimal import Decimal
from typing import Any, ClassVar

from bot.craft.units import AmbiguousUnitError, Quantity, meanings, settled
from bot.facts import SETTLES_UNIT, Count, Fact, Option, Question, Request, Term


@dataclass(frozen=True, slots=True)
class WhichUnit(Fact):
    """Asks what a unit means here, as its size depends on the place."""

    words: ClassVar[str] = "unit.which"
    unit: Term


@dataclass(frozen=True, slots=True)
class Settled:
    """The request with certain amounts, or the question that must come first.

    `chosen` is what the group answered about a unit, to be remembered: name said -> unit meant.
    """

    request: Request
    question: Question | None = None
    chosen: Mapping[str, str] | None = None


def settle(
    request: Request, country: str, units: Mapping[str, str], measures: Mapping[str, str]
) -> Settled:
    """Every quantity of the request in a unit of one size.

    `measures` are the member's own (name -> mL), `units` what the group answered before.
    """
    slots = dict(request.slots)
    said = slots.pop(SETTLES_UNIT, None)
    chosen: dict[str, str] | None = None
    for name, value in slots.items():
        if said is not None and isinstance(value, Quantity) and _means(str(said), value):
            chosen = {str(said): value.unit}
        try:
            slots[name] = _certain(value, country, units, measures)
        except AmbiguousUnitError as fault:
            options = tuple(
                Option(
                    replace(value, unit=each.unit),
                    Quantity(each.size.quantize(Decimal(1)), each.of),
                )
                for each in fault.meanings
            )
            asked = Request(request.kind, {**slots, SETTLES_UNIT: fault.said})
            ask = WhichUnit(Term("unit", fault.said))
            return Settled(request, Question(ask, asked, name, options))
    return Settled(Request(request.kind, slots), chosen=chosen)


def _means(said: str, value: Quantity) -> bool:
    return any(each.unit == value.unit for each in meanings(said))


def _certain(
    value: Any, country: str, units: Mapping[str, str], measures: Mapping[str, str]
) -> Any:
    if isinstance(value, Quantity):
        if value.unit in measures:
            return Quantity(value.value * Decimal(measures[value.unit]), "millilitre")
        return settled(value, country, units)
    if isinstance(value, tuple):
        return tuple(_certain(each, country, units, measures) for each in value)
    if is_dataclass(value) and not isinstance(value, type | Count | Term):
        inner = {
            each.name: _certain(getattr(value, each.name), country, units, measures)
            for each in fields(value)
        }
        return replace(value, **inner)
    return value
