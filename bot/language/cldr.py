"""The unit, month and day names that CLDR already knows, so that no word list repeats them."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from babel import Locale
from babel.core import UnknownLocaleError

# CLDR unit -> our canonical unit. Source: CLDR unit identifiers (unicode.org, UTS #35 part 6).
_UNITS = {
    "volume-liter": "litre",
    "volume-milliliter": "millilitre",
    "volume-centiliter": "centilitre",
    "volume-deciliter": "decilitre",
    "volume-hectoliter": "hectolitre",
    "volume-cubic-meter": "cubic_metre",
    "volume-cubic-centimeter": "cubic_centimetre",
    "volume-cubic-foot": "cubic_foot",
    "volume-gallon": "gallon",
    "volume-gallon-imperial": "imperial_gallon",
    "volume-quart": "quart",
    "volume-pint": "pint",
    "volume-cup": "cup",
    "volume-tablespoon": "tablespoon",
    "volume-teaspoon": "teaspoon",
    "volume-fluid-ounce": "fluid_ounce",
    "mass-kilogram": "kilogram",
    "mass-gram": "gram",
    "mass-milligram": "milligram",
    "mass-microgram": "microgram",
    "mass-tonne": "tonne",
    "mass-pound": "pound",
    "mass-ounce": "ounce",
    "length-meter": "metre",
    "length-centimeter": "centimetre",
    "length-decimeter": "decimetre",
    "length-millimeter": "millimetre",
    "length-kilometer": "kilometre",
    "length-inch": "inch",
    "length-foot": "foot",
    "length-yard": "yard",
    "length-mile": "mile",
    "area-square-meter": "square_metre",
    "area-square-foot": "square_foot",
    "area-square-yard": "square_yard",
    "area-square-kilometer": "square_kilometre",
    "area-square-mile": "square_mile",
    "area-hectare": "hectare",
    "area-acre": "acre",
    "temperature-celsius": "degree_celsius",
    "temperature-fahrenheit": "degree_fahrenheit",
    "temperature-generic": "degree_celsius",
    "concentr-percent": "percent",
}
_SPANS = ("second", "minute", "hour", "day", "week", "month", "year")


def names(tag: str) -> Iterator[tuple[str, Any, str]]:
    """Every (role, value, phrase) that CLDR has for a language; nothing for one it lacks.

    A phrase with `{0}` inside stands around its number (vijiko {0} vidogo).

    Source: Unicode CLDR, Unicode License v3, as packed by Babel.
    """
    try:
        locale: Any = Locale.parse(tag, sep="-")
    except (UnknownLocaleError, ValueError):
        return
    patterns = locale._data["unit_patterns"]  # noqa: SLF001 - Babel shows no list of unit names
    for identifier, unit in _UNITS.items():
        for phrase in dict.fromkeys(_phrases(patterns.get(identifier, {}))):
            yield "unit", unit, phrase
    for span in _SPANS:
        for phrase in dict.fromkeys(_phrases(patterns.get(f"duration-{span}", {}))):
            yield "span", (Decimal(1), span), phrase
    for width in ("wide", "abbreviated"):
        # Never "stand-alone": Babel shares that alias between locales, so that Hindi answers with
        # Swahili's days once Swahili has been loaded (seen in 2.18).
        for month, name in locale.months["format"][width].items():
            yield "month", month, name
        for weekday, name in locale.days["format"][width].items():
            yield "weekday", weekday, name
    for kind, name in locale.day_periods["format"]["abbreviated"].items():
        if kind in ("am", "pm"):
            yield kind, True, name


def _phrases(patterns: Any) -> Iterator[str]:
    for forms in patterns.values():
        for plural, form in forms.items() if hasattr(forms, "items") else ():
            if plural == "per":  # a litre: the reader has its own words for each
                continue
            before, _, after = form.replace("\u00a0", " ").partition("{0}")
            yield form if before.strip() and after.strip() else (before + after).strip()
