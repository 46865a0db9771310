"""Quantities with a canonical unit. The only room that knows pint."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Context, Decimal
from functools import lru_cache
from typing import Any

import pint

from bot.craft.land import MEANINGS, Meaning

VOLUME = "volume"
MASS = "mass"
LENGTH = "length"
AREA = "area"
TEMPERATURE = "temperature"
SHARE = "share"


@dataclass(frozen=True, slots=True)
class Quantity:
    """An exact amount in one canonical unit, as `Quantity(Decimal(16), "litre")`.

    `unit` is a canonical name (singular, lower case: litre, millilitre, kilogram, acre,
    degree_celsius, percent), never a member's spelling of it.
    """

    value: Decimal
    unit: str

    def to(self, unit: str) -> Quantity:
        """The same amount in another unit; temperatures by their offset too.

        Raises:
            AmbiguousUnitError: the unit's size depends on the place; `settled` it first.
            UnitError: the two do not measure the same thing, or a name is unknown.

        >>> Quantity(Decimal("1.5"), "litre").to("millilitre").value
        Decimal('1500.0')
        >>> Quantity(Decimal(131), "degree_fahrenheit").to("degree_celsius").value
        Decimal('55')
        """
        if self.unit == unit:
            return self
        if measures(self.unit) == TEMPERATURE and measures(unit) == TEMPERATURE:
            # Source: NIST SP 811, B.8: t/°C = (t/°F - 32)/1.8.
            if unit == "degree_celsius":
                return Quantity((self.value - 32) / Decimal("1.8"), unit)
            return Quantity(self.value * Decimal("1.8") + 32, unit)
        return Quantity(self.value * factor(self.unit, unit), unit)


class UnitError(ValueError):
    """Two units do not measure the same thing, or a name is unknown."""


class AmbiguousUnitError(UnitError):
    """A unit's size depends on the place, and the place does not settle it: ask once."""

    def __init__(self, said: str, meanings: tuple[Meaning, ...]) -> None:
        super().__init__(f"{said} can be {', '.join(each.unit for each in meanings)}")
        self.said = said
        self.meanings = meanings


# Every canonical unit, and what it measures. What is not here is not a unit, whatever pint knows.
_MEASURES: dict[str, str] = {
    **dict.fromkeys(("millilitre", "centilitre", "decilitre", "litre", "cubic_metre"), VOLUME),
    **dict.fromkeys(("hectolitre", "cubic_centimetre"), VOLUME),
    **dict.fromkeys(("us_gallon", "us_quart", "us_pint", "us_cup", "us_fluid_ounce"), VOLUME),
    **dict.fromkeys(("us_tablespoon", "us_teaspoon", "us_bushel", "cubic_foot"), VOLUME),
    **dict.fromkeys(("imperial_gallon", "imperial_quart", "imperial_pint"), VOLUME),
    **dict.fromkeys(("imperial_cup", "imperial_fluid_ounce"), VOLUME),
    **dict.fromkeys(("metric_cup", "metric_tablespoon", "metric_teaspoon"), VOLUME),
    "australian_tablespoon": VOLUME,
    **dict.fromkeys(("milligram", "gram", "kilogram", "tonne", "ounce", "pound"), MASS),
    **dict.fromkeys(("millimetre", "centimetre", "decimetre", "metre", "kilometre"), LENGTH),
    **dict.fromkeys(("inch", "foot", "yard", "mile"), LENGTH),
    **dict.fromkeys(("square_centimetre", "square_metre", "square_kilometre"), AREA),
    **dict.fromkeys(("square_inch", "square_foot", "square_yard", "square_mile"), AREA),
    **dict.fromkeys(("hectare", "are", "acre"), AREA),
    **dict.fromkeys(("degree_celsius", "degree_fahrenheit"), TEMPERATURE),
    "percent": SHARE,
    **{each.unit: MASS if each.of == "kilogram" else AREA for each in MEANINGS},
}

# What pint lacks, names otherwise, or sizes differently from a grower's meaning.
# Source: NIST SP 811 App. B for US and imperial measures and the foot; 21 CFR 101.9(b)(5)(viii)
# for 15 and 5 mL spoons; metric cup 250 mL and Australian tablespoon 20 mL (quoted).
_DEFINITIONS = (
    "acre = 43560 * foot ** 2",  # pint's own is the US survey acre, 4 parts in a million larger
    "are = 100 * meter ** 2",
    "us_gallon = 3.785411784 * liter",
    "us_quart = 0.946352946 * liter",
    "us_pint = 0.473176473 * liter",
    "us_cup = 236.5882365 * milliliter",
    "us_fluid_ounce = 29.5735295625 * milliliter",
    "us_tablespoon = 14.78676478125 * milliliter",
    "us_teaspoon = 4.92892159375 * milliliter",
    "us_bushel = 35.23907016688 * liter",
    "cubic_metre = 1000 * liter",
    "hectolitre = 100 * liter",
    "cubic_centimetre = milliliter",
    "cubic_foot = 28.316846592 * liter",
    "metric_cup = 250 * milliliter",
    "metric_tablespoon = 15 * milliliter",
    "metric_teaspoon = 5 * milliliter",
    "australian_tablespoon = 20 * milliliter",
    "square_centimetre = centimeter ** 2",
    "square_metre = meter ** 2",
    "square_kilometre = kilometer ** 2",
    "square_inch = inch ** 2",
    "square_foot = foot ** 2",
    "square_yard = yard ** 2",
    "square_mile = mile ** 2",
)

# Twenty digits: more than any measure has, fewer than pint's last-digit drift in Decimal.
_TWENTY_DIGITS = Context(prec=20)


@lru_cache(maxsize=1)
def _registry() -> Any:
    registry: Any = pint.UnitRegistry(non_int_type=Decimal, on_redefinition="ignore")
    for line in _DEFINITIONS:
        registry.define(line)
    for each in {meaning.unit: meaning for meaning in MEANINGS}.values():
        registry.define(f"{each.unit} = {each.size} * {each.of}")
    return registry


def known(unit: str) -> bool:
    """Whether this is the canonical name of a unit, or a name whose size the place decides."""
    return unit in _MEASURES or unit in _SAID


def measures(unit: str) -> str:
    """What a unit measures: volume, mass, length, area, temperature or share.

    Raises:
        UnitError: the name is unknown.

    >>> measures("guntha"), measures("gallon")
    ('area', 'volume')
    """
    if unit in _MEASURES:
        return _MEASURES[unit]
    if unit in _SAID:
        return _MEASURES[_SAID[unit][0].unit]
    raise UnitError(f"{unit} is not a unit")


@lru_cache(maxsize=1024)
def factor(unit: str, other: str) -> Decimal:
    """How many of `other` one `unit` is; for units without an offset. Exact to twenty digits.

    Raises:
        AmbiguousUnitError: one of the two has a size that depends on the place.
        UnitError: the two do not measure the same thing, or a name is unknown.

    >>> factor("hectare", "square_metre") == 10000
    True
    """
    if measures(unit) != measures(other) or measures(unit) == TEMPERATURE:
        raise UnitError(f"{unit} is not measured in {other}")
    for name in (unit, other):
        if name not in _MEASURES:
            raise AmbiguousUnitError(name, _SAID[name])
    if unit == other:
        return Decimal(1)
    magnitude = _registry().Quantity(Decimal(1), unit).to(other).magnitude
    short = _TWENTY_DIGITS.plus(Decimal(magnitude)).normalize(_TWENTY_DIGITS)
    return short.quantize(Decimal(1)) if short == short.to_integral_value() else short


# --- names whose size the place decides -------------------------------------------------------


def _measure(said: str, unit: str, places: str = "") -> Meaning:
    return Meaning(
        said, unit, Decimal(1), unit, tuple(places.split()), "custom of the country", "from memory"
    )


# Source: lists of countries that sell by US or imperial gallon, from memory.
_US = "US PR LR BZ CO DO EC SV GT HN HT NI PE PH"
_IMPERIAL = "GB IE CA AU NZ IN PK BD LK MM KE UG TZ ZA ZM ZW MW SL GY DM GD LC VC AG KN"

_KITCHEN: tuple[Meaning, ...] = (
    _measure("gallon", "us_gallon", _US),
    _measure("gallon", "imperial_gallon", _IMPERIAL),
    _measure("quart", "us_quart", _US),
    _measure("quart", "imperial_quart", _IMPERIAL),
    _measure("pint", "us_pint", _US),
    _measure("pint", "imperial_pint", _IMPERIAL),
    _measure("fluid_ounce", "us_fluid_ounce", _US),
    _measure("fluid_ounce", "imperial_fluid_ounce", "*"),
    _measure("cup", "us_cup", "US PR LR"),
    _measure("cup", "metric_cup", "*"),
    _measure("tablespoon", "australian_tablespoon", "AU"),
    _measure("tablespoon", "metric_tablespoon", "*"),
    _measure("teaspoon", "metric_teaspoon", "*"),
    _measure("bushel", "us_bushel", "*"),
)

_SAID: dict[str, tuple[Meaning, ...]] = {}
for _each in (*_KITCHEN, *MEANINGS):
    _SAID[_each.said] = (*_SAID.get(_each.said, ()), _each)


def meanings(unit: str) -> tuple[Meaning, ...]:
    """Everything a unit's name can mean; empty where the name is its own single meaning.

    >>> [each.unit for each in meanings("gallon")]
    ['us_gallon', 'imperial_gallon']
    """
    return _SAID.get(unit, ())


def settle(unit: str, place: str = "", chosen: Mapping[str, str] | None = None) -> str:
    """The canonical unit that a name means in a place.

    `place` is a country or a part of it (ISO 3166: "NP", "IN-UP"). `chosen` holds what the group
    answered before: name said -> canonical unit; it goes before the place. A meaning of "*" is
    taken where no other fits.

    Raises:
        AmbiguousUnitError: more than one meaning is left; `meanings` are those to offer.
        UnitError: the name is unknown.

    >>> settle("bigha", "NP"), settle("cup", "KE"), settle("litre")
    ('bigha_nepal', 'metric_cup', 'litre')
    """
    candidates = _SAID.get(unit, ())
    if not candidates:
        measures(unit)
        return unit
    if chosen and unit in chosen:
        return chosen[unit]
    if len({each.unit for each in candidates}) == 1:
        return candidates[0].unit
    country = place.partition("-")[0]
    for fits in (
        [each for each in candidates if place and place in each.places],
        [each for each in candidates if _in_country(each, place, country)],
        [each for each in candidates if "*" in each.places],
    ):
        if len(fits) == 1:
            return fits[0].unit
        if fits:
            raise AmbiguousUnitError(unit, tuple(fits))
    raise AmbiguousUnitError(unit, candidates)


def _in_country(meaning: Meaning, place: str, country: str) -> bool:
    if not country:
        return False
    if country in meaning.places:
        return True
    # Only the country is known: every reading of its parts stays possible.
    parts = [each for each in meaning.places if each.startswith(f"{country}-")]
    return bool(parts) and place == country


def settled(
    quantity: Quantity, place: str = "", chosen: Mapping[str, str] | None = None
) -> Quantity:
    """The same amount with a unit of one size only.

    Raises:
        AmbiguousUnitError: the place does not settle it; ask the group once.
        UnitError: the name is unknown.

    >>> settled(Quantity(Decimal(2), "gallon"), "KE").to("litre").value
    Decimal('9.09218')
    """
    return Quantity(quantity.value, settle(quantity.unit, place, chosen))
