"""What a member sets by message: language, hour, quiet hours, zone, tank, measures, name."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import time
from decimal import Decimal
from typing import Any, ClassVar
from zoneinfo import ZoneInfo, available_timezones

from bot.craft import places
from bot.craft.amounts import AmountError
from bot.craft.measures import measure
from bot.craft.places import Place
from bot.craft.units import Quantity, settled
from bot.facts import Count, Duration, Fact, Option, Question, Request, Term
from bot.records.book import Answer, Book
from bot.records.changes import GroupSet, MemberSet

KIND = "settings"

LONGEST_NAME = 24
MOST_PLACES = 3
LONGEST_RULE_DAYS = 366


@dataclass(frozen=True, slots=True)
class LanguageSet(Fact):
    """The language from now on, said in that language."""

    words: ClassVar[str] = "settings.language"
    language: Term


@dataclass(frozen=True, slots=True)
class LanguageUnknown(Fact):
    """The language is not spoken here; those that are."""

    words: ClassVar[str] = "settings.language-unknown"
    widest: ClassVar[dict[str, Any]] = {
        "languages": tuple(
            Term("language", tag) for tag in ("en", "es", "fr", "hi", "hi-Latn", "pt", "sw")
        )
    }
    languages: tuple[Term, ...]


@dataclass(frozen=True, slots=True)
class HourSet(Fact):
    """The wall time of reminders from now on."""

    words: ClassVar[str] = "settings.hour"
    hour: time


@dataclass(frozen=True, slots=True)
class QuietSet(Fact):
    """Between these wall times nothing unasked is sent."""

    words: ClassVar[str] = "settings.quiet"
    since: time
    until: time


@dataclass(frozen=True, slots=True)
class ZoneSet(Fact):
    """The place and its clock from now on, with the time there now so that it can be checked."""

    words: ClassVar[str] = "settings.zone"
    place: str
    now: time


@dataclass(frozen=True, slots=True)
class WhichPlace(Fact):
    """Several places have that name."""

    words: ClassVar[str] = "settings.which-place"
    place: str


@dataclass(frozen=True, slots=True)
class PlaceUnknown(Fact):
    """No place of that name is known; what to send instead."""

    words: ClassVar[str] = "settings.place-unknown"
    place: str


@dataclass(frozen=True, slots=True)
class TankSet(Fact):
    """The size of the member's tank."""

    words: ClassVar[str] = "settings.tank"
    tank: Quantity


@dataclass(frozen=True, slots=True)
class MeasureSet(Fact):
    """What the member's own measure holds."""

    words: ClassVar[str] = "settings.measure"
    measure: Count
    holds: Quantity


@dataclass(frozen=True, slots=True)
class NameSet(Fact):
    """What the member is called."""

    words: ClassVar[str] = "settings.name"
    name: str


@dataclass(frozen=True, slots=True)
class LettersSet(Fact):
    """Plain letters without accents from now on, for shorter and cheaper messages."""

    words: ClassVar[str] = "settings.plain-letters"


@dataclass(frozen=True, slots=True)
class AllLettersSet(Fact):
    """All letters of the language from now on."""

    words: ClassVar[str] = "settings.all-letters"


@dataclass(frozen=True, slots=True)
class DigitsSet(Fact):
    """The digits from now on, shown."""

    words: ClassVar[str] = "settings.digits"
    example: Decimal


@dataclass(frozen=True, slots=True)
class ReadingSet(Fact):
    """What "1 in 3" means here from now on: both amounts said."""

    words: ClassVar[str] = "settings.reading"
    water_parts: int


@dataclass(frozen=True, slots=True)
class UnitSet(Fact):
    """What a unit means in this group from now on."""

    words: ClassVar[str] = "settings.unit"
    unit: Term
    size: Quantity


@dataclass(frozen=True, slots=True)
class RuleSet(Fact):
    """The rule by which the group reckons the days before a harvest."""

    words: ClassVar[str] = "settings.rule"
    rule: Term


@dataclass(frozen=True, slots=True)
class LocalRuleSet(Fact):
    """The days of the group's own local rule."""

    words: ClassVar[str] = "settings.local-rule"
    days: Count


@dataclass(frozen=True, slots=True)
class HowManyDays(Fact):
    """Asks for the days of the local rule."""

    words: ClassVar[str] = "settings.rule-days"


@dataclass(frozen=True, slots=True)
class NotSettable(Fact):
    """The value cannot be; what can be set, by examples."""

    words: ClassVar[str] = "settings.cannot"


Kept = tuple[Fact, tuple[MemberSet | GroupSet, ...]]


def answer(request: Request, book: Book) -> Answer:
    """Keep each setting that was said; one that cannot be, or is unclear, is said back."""
    slots = request.slots
    if "place" in slots or "zone" in slots:
        return _place(request, book)
    if "rule" in slots:
        return _rule(request)
    kept: list[Kept] = []
    for name, keep in _KEEPERS.items():
        if name in slots:
            one = keep(slots[name], book)
            if one is None:
                return Answer((NotSettable(),))
            kept.append(one)
    if not kept:
        if book.place is not None:
            return _here(places.nearest(*book.place), book)
        return Answer((NotSettable(),))
    return Answer(
        tuple(fact for fact, _changes in kept),
        tuple(change for _fact, changes in kept for change in changes),
    )


def _place(request: Request, book: Book) -> Answer:
    said = request.slots.get("place") or request.slots["zone"]
    if isinstance(said, str) and said in available_timezones():
        now = _wall(said, book)
        return Answer(
            (ZoneSet(said, now),), (MemberSet("zone", said), MemberSet("zone_unsure", None))
        )
    country = book.member.country
    name, _, wanted = str(said).partition(",")
    found = places.named(name.strip(), wanted.strip() or country)
    if wanted:
        found = tuple(each for each in found if each.country == wanted.strip()) or found
    if not found:
        return Answer((PlaceUnknown(str(said)),))
    zones = dict.fromkeys(each.zone for each in found[:MOST_PLACES])
    if len(zones) > 1 and found[0].country != (wanted.strip() or country):
        options = tuple(
            Option(f"{each.name},{each.country}", Term("country", each.country))
            for each in found[:MOST_PLACES]
        )
        ask = WhichPlace(str(said))
        return Answer(question=Question(ask, request, "place", options))
    return _here(found[0], book)


def _here(place: Place, book: Book) -> Answer:
    return Answer(
        (ZoneSet(place.name, _wall(place.zone, book)),),
        (
            MemberSet("zone", place.zone),
            MemberSet("zone_unsure", None),
            MemberSet("country", place.country),
            MemberSet("place", [place.latitude, place.longitude, place.altitude_m]),
        ),
    )


def _wall(zone: str, book: Book) -> time:
    return book.now.astimezone(ZoneInfo(zone)).time().replace(second=0, microsecond=0)


def _language(value: Any, book: Book) -> Kept | None:
    tag = value.name if isinstance(value, Term) else str(value)
    if tag not in book.languages:
        known = tuple(Term("language", each) for each in book.languages)
        return LanguageUnknown(known), ()
    return LanguageSet(Term("language", tag)), (MemberSet("language", tag),)


def _hour(value: time, _book: Book) -> Kept:
    return HourSet(value), (MemberSet("hour", value.strftime("%H:%M")),)


def _quiet(value: tuple[time, time], _book: Book) -> Kept:
    since, until = value
    words = [since.strftime("%H:%M"), until.strftime("%H:%M")]
    return QuietSet(since, until), (MemberSet("quiet", words),)


def _tank(value: Quantity, _book: Book) -> Kept | None:
    ml = int(settled(value).to("millilitre").value)
    if not 0 < ml <= 10_000_000:
        return None
    return TankSet(value), (MemberSet("tank_ml", ml),)


def _measure(value: tuple[str, Quantity], book: Book) -> Kept | None:
    name, holds = value
    try:
        found = measure(name, settled(holds).to("millilitre").value)
    except AmountError:
        return None
    measures = {**book.member.settings.get("measures", {}), found.name: str(found.ml)}
    fact = MeasureSet(Count(Decimal(1), found.name), Quantity(found.ml, "millilitre"))
    return fact, (MemberSet("measures", measures),)


def _name(value: str, _book: Book) -> Kept | None:
    name = " ".join(str(value).split())[:LONGEST_NAME].strip()
    return (NameSet(name), (MemberSet("name", name),)) if name else None


def _plain(value: bool, _book: Book) -> Kept:
    return (LettersSet() if value else AllLettersSet()), (MemberSet("plain", value),)


def _digits(value: Any, _book: Book) -> Kept:
    return DigitsSet(Decimal(123)), (MemberSet("digits", _word(value)),)


def _reading(value: Any, _book: Book) -> Kept:
    reading = _word(value)
    return ReadingSet(3 if reading == "parts" else 2), (GroupSet("ratio_reading", reading),)


def _word(value: Any) -> str:
    return value.name if isinstance(value, Term) else str(value)


def _land_unit(value: Quantity, book: Book) -> Kept:
    units = {**book.group.settings.get("units", {}), value.unit.partition("_")[0]: value.unit}
    one = Quantity(Decimal(1), value.unit).to("square_metre")
    size = Quantity(one.value.quantize(Decimal(1)), "square_metre")
    return UnitSet(Term("unit", value.unit), size), (GroupSet("units", units),)


def _rule(request: Request) -> Answer:
    """A local rule needs its days; the published ones bring their own."""
    rule, said = _word(request.slots["rule"]), request.slots.get("days")
    if rule != "local":
        changes = (GroupSet("harvest_rule", rule), GroupSet("harvest_days", None))
        return Answer((RuleSet(Term("rule", rule)),), changes)
    if not isinstance(said, Duration):
        return Answer(question=Question(HowManyDays(), request, "days"))
    days = said.n * {"day": 1, "week": 7, "month": 30}.get(said.unit, 0)
    if not 0 < days <= LONGEST_RULE_DAYS:
        return Answer((NotSettable(),))
    changes = (GroupSet("harvest_rule", rule), GroupSet("harvest_days", int(days)))
    return Answer((LocalRuleSet(Count(days, "day")),), changes)


_KEEPERS: Mapping[str, Callable[[Any, Book], Kept | None]] = {
    "language": _language,
    "hour": _hour,
    "quiet": _quiet,
    "tank": _tank,
    "measure": _measure,
    "name": _name,
    "plain": _plain,
    "digits": _digits,
    "ratio_reading": _reading,
    "land_unit": _land_unit,
}
