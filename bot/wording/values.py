"""How each kind of value is written in one language."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields
from datetime import date, datetime, time
from decimal import Decimal
from pathlib import Path
from typing import Any, Literal
from zoneinfo import ZoneInfo

from babel import Locale, UnknownLocaleError
from babel.dates import format_skeleton, format_time
from babel.lists import format_list

from bot.craft.units import Quantity
from bot.facts import Count, Duration, Every, Fact, Hour, Option, Per, Ratio, Span, Term
from bot.wording.catalogue import LOCALES, Catalogue, Slot, Template, chain
from bot.wording.figures import bare, figures, measurable
from bot.wording.voice import Voice

_CLDR_UNITS = {
    "litre": "volume-liter",
    "millilitre": "volume-milliliter",
    "kilogram": "mass-kilogram",
    "gram": "mass-gram",
    "metre": "length-meter",
    "centimetre": "length-centimeter",
    "square_metre": "area-square-meter",
    "acre": "area-acre",
    "hectare": "area-hectare",
    "degree_celsius": "temperature-celsius",
    "degree_fahrenheit": "temperature-fahrenheit",
}
"""Units whose short form CLDR knows, should a catalogue not have them."""


@dataclass(slots=True)
class Speaker:
    """Writes values and facts for one reader, and keeps the keys its language could not say.

    `short` asks for the form for one SMS where a fact has one.
    """

    voice: Voice
    root: Path = LOCALES
    short: bool = False
    fell_back: dict[str, None] = field(default_factory=dict)
    _chain: tuple[Catalogue, ...] = ()
    locale: Locale = field(default_factory=lambda: Locale("en"))

    def __post_init__(self) -> None:
        """Find the catalogues and the locale of the reader's country."""
        self._chain = chain(self.voice.language, self.root)
        spoken, wanted = (
            tag.replace("_", "-").partition("-")[0]
            for tag in (self._chain[0].tag, self.voice.language)
        )
        if spoken != wanted:
            self.fell_back[f"language {self.voice.language}"] = None
        self.locale = _in_country(self._chain[0].locale, self.voice.country)

    @property
    def right_to_left(self) -> bool:
        """Whether the language's script runs from right to left."""
        return bool(self._chain[0].locale.text_direction == "rtl")

    # --- messages -----------------------------------------------------------------------------

    def knows(self, key: str) -> bool:
        """Whether any catalogue of the chain has words for a key."""
        return any(key in catalogue.messages for catalogue in self._chain)

    def message(self, key: str, values: Mapping[str, Any], n: Decimal | None = None) -> str:
        """The words of a key with its values filled in; `n` chooses the plural form."""
        for catalogue in self._chain:
            forms = catalogue.messages.get(key)
            if forms is None:
                continue
            if catalogue is not self._chain[0]:
                self.fell_back[key] = None
            form = 0 if n is None else min(catalogue.plural(n), len(forms) - 1)
            return self._fill(forms[form], values)
        self.fell_back[key] = None
        return key.rpartition(".")[2].replace("_", " ")

    def _fill(self, parts: Template, values: Mapping[str, Any]) -> str:
        return "".join(
            self._slot(part, values) if isinstance(part, Slot) else part for part in parts
        )

    def _slot(self, slot: Slot, values: Mapping[str, Any]) -> str:
        if slot.name not in values:
            # A catalogue's slip must not cost a grower the answer; the checks name it.
            self.fell_back[f"{{{slot.name}}}"] = None
            return ""
        return self.value(values[slot.name], slot.how)

    def fact(self, fact: Fact) -> str:
        """One clause: the fact's words, short if asked and there, with a capital at its head."""
        text = tidy(self._clause(fact))
        return text[:1].upper() + text[1:]

    def _clause(self, fact: Fact) -> str:
        values = {each.name: getattr(fact, each.name) for each in fields(fact)}
        key = fact.words
        if not self.knows(key):
            # The checks keep this from a grower; should it happen, the values still arrive.
            self.fell_back[key] = None
            return self._series(tuple(values.values()), "commas")
        if self.short and self._has_short(key):
            key += ".short"
        n = _number(values[fact.plural]) if fact.plural else None
        return self.message(key, values, n)

    def _has_short(self, key: str) -> bool:
        """Whether the language that has the words has the short form too."""
        short = f"{key}.short"
        said = (each.messages for each in self._chain)
        return short in next(each for each in said if key in each or short in each)

    # --- values -------------------------------------------------------------------------------

    def value(self, value: Any, how: str = "") -> str:  # noqa: C901, PLR0911, PLR0912 - one line a type
        """One value in this language, as it stands in a sentence.

        `how` is what the template asks for: "near" calls close days by name, "lines" and "commas"
        lay out a tuple, "either" joins one with or, "number" leaves the noun or unit away, "exact"
        keeps the unit.

        Raises:
            TypeError: a value of this type has no words, as a bool.
        """
        match value:
            case None:
                return ""
            case str():
                return value
            case bool():
                raise TypeError("a bool has no words; make it two facts or a Term")
            case int() | Decimal():
                return self.number(Decimal(value))
            case Quantity():
                return self.quantity(value, how)
            case Count():
                return self._counted(f"noun.{value.noun}", value.n, how)
            case Duration():
                return self._counted(f"noun.{value.unit}", value.n, how)
            case Every():
                return self.message(f"every.{value.unit}", {"n": value.n}, Decimal(value.n))
            case Ratio():
                return f"{self.number(value.culture_parts)}:{self.number(value.water_parts)}"
            case Per():
                return self._per(value)
            case Span():
                return self._span(value)
            case Term():
                return self.term(value)
            case Fact():
                return self._clause(value)
            case Option():
                return self.value(value.label, how)
            case Hour():
                return self.moment(value.at, how)
            case datetime():
                return self.moment(value, how)
            case date():
                return self.day(value, how)
            case time():
                return self.hour(value)
            case tuple() | list():
                return self._series(value, how)
            case _:
                raise TypeError(f"a {type(value).__name__} has no words")

    def term(self, term: Term) -> str:
        """A word of the trade; the name of a language or country, unless a catalogue has its own.

        Source of those names: CLDR, by Babel.
        """
        key = f"{term.kind}.{term.name}"
        if self.short and self.knows(f"{key}.short"):
            return self.message(f"{key}.short", {})
        if not self.knows(key):
            name = term.name.replace("-", "_")
            if term.kind == "country":
                return str(self.locale.territories.get(name, name))
            if term.kind == "language" and (known := _cldr_locale(name)):
                return str(known.get_display_name(self.locale))
        return self.message(key, {})

    def number(self, number: Decimal) -> str:
        """A number without marks between thousands, so that 1500 never reads as one and a half.

        At most two decimals from 1 up, three figures below; halves go away from zero.
        """
        mark = self.locale.number_symbols["latn"]["decimal"]
        return self.digits(figures(number).replace(".", mark))

    def digits(self, text: str) -> str:
        """A text with its figures in the digits the reader asked for."""
        native = self._chain[0].habits.get("digits", "")
        if self.voice.digits != "native" or len(native) != 10:
            return text
        return text.translate({ord(str(n)): digit for n, digit in enumerate(native)})

    def quantity(self, quantity: Quantity, how: str = "") -> str:
        """An amount in the unit a grower would measure it in: 250 mL, 4 L, 1.5 kg."""
        shown = quantity if how == "exact" else measurable(quantity)
        if how == "number":
            return self.number(shown.value)
        return self._unit(shown.unit, self.number(shown.value), shown.value)

    def _unit(self, unit: str, number: str, n: Decimal) -> str:
        key = f"unit.{unit}"
        if key not in self._chain[0].messages and unit in _CLDR_UNITS:
            patterns = self.locale._data["unit_patterns"][_CLDR_UNITS[unit]]["short"]  # noqa: SLF001 - Babel's own formatter takes no number that is already written
            pattern = patterns.get(self.locale.plural_form(abs(n)), patterns["other"])
            return bare(pattern.replace("{0}", number))
        if not self.knows(key):
            self.fell_back[key] = None
            return f"{number} {unit.replace('_', ' ')}"
        return self.message(key, {"n": number}, n)

    def _counted(self, key: str, n: Decimal, how: str) -> str:
        if how == "number":
            return self.number(n)
        if not self.knows(key):
            # A member's own measure, as "mug": its name stands as they gave it.
            return f"{self.number(n)} {key.partition('.')[2]}"
        return self.message(key, {"n": n}, n)

    def _per(self, per: Per) -> str:
        each = per.each
        name, n = (each.noun, each.n) if isinstance(each, Count) else (each.unit, each.value)
        key = f"each.{name}"
        if n == 1 and self.knows(key):
            return self.message(key, {"amount": per.amount})
        return self.message("value.per", {"amount": per.amount, "each": each})

    def _span(self, span: Span) -> str:
        low, high = measurable(span.low), measurable(span.high)
        if low.unit == high.unit:
            numbers = f"{self.number(low.value)}-{self.number(high.value)}"
            return self._unit(high.unit, numbers, high.value)
        return f"{self.quantity(low)} - {self.quantity(high)}"

    def _series(self, values: Sequence[Any], how: str) -> str:
        inner = "" if how in {"lines", "commas", "plus", "either"} else how
        said = [text for text in (self.value(each, inner) for each in values) if text]
        if how == "lines":
            return "\n".join(said)
        if how in {"commas", "plus"}:
            return {"commas": ", ", "plus": " + "}[how].join(said)
        style: Literal["or", "standard"] = "or" if how == "either" else "standard"
        return str(format_list(said, style=style, locale=self.locale)) if said else ""

    # --- time ---------------------------------------------------------------------------------

    def day(self, day: date, how: str = "") -> str:
        """A day as "Fri 6 Mar", with its year where that could be doubted.

        With `how` "weekday" only its name in the week; with "near", yesterday, today and tomorrow
        get their word before the date: a message may be read a day after it was sent.
        """
        if how == "weekday":
            return str(self.locale.days["format"]["wide"][day.weekday()])
        today = self.voice.today
        far = today is not None and abs((day - today).days) > 180
        skeleton = "yMMMEd" if far else "MMMEd"
        text = bare(str(format_skeleton(skeleton, day, locale=self.locale)))
        text = self.digits(re.sub(r"[,.،]", "", text))
        if how == "near" and today is not None:
            word = {-1: "yesterday", 0: "today", 1: "tomorrow"}.get((day - today).days)
            if word:
                return self.message("value.near_day", {"near": Term("day", word), "day": text})
        return text

    def hour(self, wall: time) -> str:
        """A wall-clock time: 06:00, or by the language's or the reader's own habit."""
        habit = self.voice.hours or self._chain[0].habits.get("hours", "24")
        plain = self.digits(f"{wall.hour:02}:{wall.minute:02}")
        if habit == "12":
            return bare(str(format_time(wall, "h:mm a", locale=self.locale)))
        if habit == "swahili" and not self.short:
            # The day begins at dawn: 07:00 is hour 1. The 24 hour form stands beside it.
            counted = (wall.hour - 7) % 12 + 1
            minutes = f":{wall.minute:02}" if wall.minute else ""
            spoken = self.digits(f"{counted}{minutes}")
            part = Term("hours", _part_of_day(wall))
            return self.message("value.hour", {"hour": spoken, "part": part, "clock": plain})
        return plain

    def moment(self, at: datetime, how: str = "") -> str:
        """A day and wall time in the reader's zone."""
        here = at.astimezone(ZoneInfo(self.voice.zone))
        if how == "hour":
            return self.hour(here.time())
        if how == "day":
            return self.day(here.date())
        values = {"day": self.day(here.date(), how), "hour": self.hour(here.time())}
        return self.message("value.moment", values)


def tidy(text: str) -> str:
    """A clause without the stray blanks that an empty value leaves.

    >>> tidy("leaf spray , 4 L  culture .")
    'leaf spray, 4 L culture.'
    """
    text = re.sub(r"[ \t]{2,}", " ", text)
    return re.sub(r" +([,.)\n])", r"\1", text).strip()


def _number(value: Any) -> Decimal:
    return value.n if isinstance(value, Count | Duration) else Decimal(value)


def _cldr_locale(name: str) -> Locale | None:
    """The locale CLDR has under a name, if any: a group may add a language it does not know."""
    try:
        return Locale.parse(name)
    except (UnknownLocaleError, ValueError):
        return None


def _in_country(locale: Locale, country: str) -> Locale:
    """The language as CLDR knows it in a country, or as it is where CLDR does not."""
    if not country or locale.territory == country:
        return locale
    try:
        return Locale(locale.language, country, locale.script)
    except UnknownLocaleError:
        return locale


def _part_of_day(wall: time) -> str:
    """Which part of the day an hour is spoken with.

    Source: CLDR 47 day period rules for sw (asubuhi 04-12, mchana 12-16, jioni 16-19, usiku).
    """
    for until, part in ((4, "night"), (12, "morning"), (16, "afternoon"), (19, "evening")):
        if wall.hour < until:
            return part
    return "night"
