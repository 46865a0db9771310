"""The one caution that goes with a reply or an alert: by what is done, with what, and when."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, ClassVar

from bot.craft.cautions import CAUTIONS, KEYS, Added, Caution, Situation, fitting, one
from bot.craft.recipe import Recipe
from bot.facts import Fact, Term
from bot.records.book import Book
from bot.records.changes import Noted

LATELY = timedelta(days=30)
"""A caution said longer ago than this is fresh again. Ours, no source."""

JUST_NOW = timedelta(hours=1)
"""For so long a bare "why" asks for the reason of a caution. Ours, no source."""

GRAVE = 90
_EVER = datetime(2000, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Cautioned(Fact):
    """One caution, in a word of the trade or in the group's own words."""

    words: ClassVar[str] = "caution.one"
    caution: Any


@dataclass(frozen=True, slots=True)
class Reason(Fact):
    """Why a caution is given: the same in full, with its figures."""

    words: ClassVar[str] = "caution.why"
    reason: Term


def said(caution: Caution | Added) -> Cautioned:
    """A caution as a fact; a group's own in its own words."""
    if isinstance(caution, Added):
        return Cautioned(caution.text)
    return Cautioned(Term("caution", caution.key))


def group_cautions(book: Book) -> tuple[Added, ...]:
    """The cautions the group added, oldest first."""
    kept = book.group.settings.get("cautions", {})
    return tuple(Added(key, str(text)) for key, text in kept.items())


def caution(
    moment: str, book: Book, recipe: Recipe, use: str = "", crop: str = ""
) -> tuple[tuple[Fact, ...], tuple[Noted, ...]]:
    """The caution to end a reply with, and the note that it was said.

    What is eaten raw comes first where the crop is named; then what is about this hour or this
    first time; then the weightiest not said lately.
    """
    log = book.log(("caution",), _EVER)
    first = not any(
        entry.text("recipe") == recipe.kind
        and entry.text("use") == use
        and (not crop or entry.text("crop") == crop)
        for entry in log
    )
    told = [
        entry.text("key")
        for entry in log
        if entry.member_id == book.member.id and entry.at > book.said_at - LATELY
    ]
    at = book.local(book.said_at).time()
    now = Situation(moment, recipe, use, crop, at, first)
    chosen = _chosen(now, group_cautions(book), told)
    if chosen is None:
        return (), ()
    data = {"key": chosen.key, "recipe": recipe.kind, "use": use, "crop": crop}
    return (said(chosen),), (Noted("caution", book.said_at, data),)


def _chosen(now: Situation, group: tuple[Added, ...], told: list[str]) -> Caution | Added | None:
    found = fitting(now, group)
    if now.crop and found and found[0].weight >= GRAVE and found[0].key not in told:
        return found[0]
    pressing = [each for each in found if isinstance(each, Caution) and (each.first or each.hot)]
    fresh = [each for each in pressing if each.first or each.key not in told]
    return fresh[0] if fresh else one(now, group, told)


def alert(book: Book, recipe: Recipe, use: str, crop: str, nth: int) -> tuple[Fact, ...]:
    """The caution of the round that is the `nth` of its plan (from 0): another each time.

    The first round is told to be tried on five plants.
    """
    at = book.local(book.now).time()
    now = Situation("spray", recipe, use, crop, at, first=nth == 0)
    found = [each for each in fitting(now, group_cautions(book)) if each.key != "local_rules"]
    if not found:
        return ()
    trial = [each for each in found if each.key == "five_plants_first"]
    return (said(trial[0] if trial else found[(nth - 1) % len(found)]),)


def asked(cautions: Iterable[Caution | Added], book: Book) -> Noted:
    """The note that these cautions were given on asking, so that "why" can be asked of them."""
    keys = [each.key for each in cautions if isinstance(each, Caution)]
    return Noted("cautions_asked", book.said_at, {"keys": " ".join(keys)})


def reasons(book: Book) -> tuple[Fact, ...]:
    """Why the cautions were given that this member was told within the hour, none if none was.

    A caution on spraying leaves brings those that are said only when someone asks why.
    """
    log = book.log(("caution", "cautions_asked"), book.said_at - JUST_NOW)
    mine = [entry for entry in log if entry.member_id == book.member.id]
    if not mine:
        return ()
    newest = mine[-1]
    keys = newest.text("keys").split() or [newest.text("key")]
    facts: list[Fact] = [Reason(Term("why", key)) for key in keys if key in KEYS]
    if newest.text("use") == "leaf" and facts:
        for each in (each for each in CAUTIONS if each.only_why):
            facts += [said(each), Reason(Term("why", each.key))]
    return tuple(facts)
