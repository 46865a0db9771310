"""What can be guessed of somebody who writes for the first time; each guess is said and mended."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time
from functools import lru_cache
from typing import Any, ClassVar
from zoneinfo import ZoneInfo

from bot import phones
from bot.craft import places
from bot.facts import Fact, Term
from bot.language.territory import likely
from bot.messages import Incoming, Manner
from bot.records.meant import ClockUnsure
from bot.records.people import Member
from bot.wording.catalogue import ENGLISH, load, tags
from bot.wording.segments import plain

LONGEST_TAG, LONGEST_COUNTRY = "hi-Latn", "CF"
"""The names CLDR has for these are as long as a member is likely to meet."""


@dataclass(frozen=True, slots=True)
class LanguageTaken(Fact):
    """The language a newcomer is written to in, and how to get the one their country speaks."""

    words = "newcomer.language"
    widest: ClassVar[dict[str, Any]] = {
        "language": Term("language", ENGLISH),
        "other": Term("language", LONGEST_TAG),
    }
    language: Term
    other: Term


@dataclass(frozen=True, slots=True)
class PlaceTaken(Fact):
    """The country a newcomer's number is from, with the time there, so that it can be mended."""

    words = "newcomer.place"
    widest: ClassVar[dict[str, Any]] = {"country": Term("country", LONGEST_COUNTRY)}
    country: Term
    now: time


@dataclass(frozen=True, slots=True)
class LatinLetters(Fact):
    """The same language in letters that make an SMS half as dear, and how to get it."""

    words = "newcomer.latin"
    widest: ClassVar[dict[str, Any]] = {"language": Term("language", LONGEST_TAG)}
    language: Term


@dataclass(frozen=True, slots=True)
class PlainLetters(Fact):
    """The same words without accents make an SMS half as dear, and how to get them."""

    words = "newcomer.plain"


def guess(incoming: Incoming) -> Mapping[str, Any]:
    """Country and zone from the number's prefix or a shared place.

    The zone is unsure where the country has several, or nothing is known at all.

    >>> from datetime import UTC, datetime
    >>> said = Incoming("modem", "1", "+254712345678", "hello", datetime(2026, 3, 2, tzinfo=UTC))
    >>> guess(said)
    {'country': 'KE', 'zone': 'Africa/Nairobi', 'zone_unsure': False}
    """
    if incoming.place is not None:
        here = places.nearest(*incoming.place)
        return {"country": here.country, "zone": here.zone, "zone_unsure": False}
    number = phones.normal(incoming.address)
    country = phones.country(number) if number else ""
    zones = phones.zones(number) if number else ()
    if not country or not zones:
        return {"zone_unsure": True}
    return {"country": country, "zone": zones[0], "zone_unsure": len(zones) > 1}


def likely_language(country: str) -> str:
    """The language most people of a country use, among those that can be said; "" if none."""
    return likely(country, tags()) if country else ""


def taken_for_granted(
    before: Member, member: Member, facts: Sequence[Fact], now: datetime
) -> Iterator[Fact]:
    """What was guessed from a newcomer's number, for them to confirm by saying nothing.

    `before` is the newcomer as guessed. A place they named themselves, and a clock that is asked
    about already, are not told a second time.
    """
    if not before.country:
        return
    other = likely_language(member.country)
    spoken = member.language or tags()[0]
    if other and other.partition("-")[0] != spoken.partition("-")[0]:
        yield LanguageTaken(Term("language", spoken), Term("language", other))
    named = "place" in member.settings or member.zone != before.zone
    if not named and not any(isinstance(each, ClockUnsure) for each in facts):
        wall = now.astimezone(ZoneInfo(member.zone)).time().replace(second=0, microsecond=0)
        yield PlaceTaken(Term("country", member.country), wall)


def shorter_letters(member: Member, manner: Manner) -> Iterator[Fact]:
    """The offer of letters that cost less, where a language has them and each SMS is paid for.

    That is Latin letters for a script that needs UCS-2, plain ones for accents that do.
    """
    if manner.alphabet != "gsm7" or not member.language:
        return
    latin = f"{member.language}-Latn"
    if latin in tags():
        yield LatinLetters(Term("language", latin))
    elif not member.settings.get("plain") and _has_accents(member.language):
        yield PlainLetters()


@lru_cache(maxsize=64)
def _has_accents(tag: str) -> bool:
    """Whether a language is written with letters that are plain but for a mark GSM lacks."""
    if tag not in tags():
        return False
    forms = (form for entry in load(tag).entries for form in entry.forms)
    return any(was.isalpha() for form in forms for was, _became in plain(form).changed)
