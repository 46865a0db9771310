"""Which barrel or plan of rounds a message is about; or what to ask where that is not clear."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import time
from typing import Any, ClassVar

from bot.craft import plans, rounds
from bot.craft.batches import Batch
from bot.craft.entries import Entry
from bot.craft.pointing import BESIDE_OTHERS, pointed
from bot.craft.round_plan import Rounds
from bot.facts import Fact, Option, Question, Request, Term
from bot.records.book import Book
from bot.records.changes import Answer


@dataclass(frozen=True, slots=True)
class WhichBarrel(Fact):
    """Asks which of several barrels is meant."""

    words: ClassVar[str] = "barrels.which"
    barrels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NoSuchBarrel(Fact):
    """No barrel has that name; those that there are."""

    words: ClassVar[str] = "barrels.no-such"
    said: str
    barrels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NoCulture(Fact):
    """No barrel of the group has a culture in it; how to start one."""

    words: ClassVar[str] = "barrels.no-culture"


@dataclass(frozen=True, slots=True)
class NoPlan(Fact):
    """No rounds are planned that this could be about; how to plan some."""

    words: ClassVar[str] = "rounds.no-plan"


@dataclass(frozen=True, slots=True)
class WhichPlan(Fact):
    """Asks which crop is meant."""

    words: ClassVar[str] = "rounds.which-plan"
    crops: tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class ClockUnsure(Fact):
    """The clock reminders go by was only guessed: what it shows now, and how to mend it."""

    words: ClassVar[str] = "settings.clock-unsure"
    now: time


def clock(book: Book) -> tuple[Fact, ...]:
    """The doubt about a clock that was only guessed, for whoever is about to rely on it."""
    if not book.member.settings.get("zone_unsure"):
        return ()
    return (ClockUnsure(book.local(book.now).time().replace(second=0, microsecond=0)),)


def barrels(
    known: Sequence[Batch], request: Request, likely: Sequence[Batch] = ()
) -> tuple[Batch, ...] | Answer:
    """The barrels that are named in `which`; else the likely ones; else all that are known."""
    codes = tuple(each.code for each in known)
    which = request.slots.get("which") or ()
    if which:
        chosen, unknown = pointed(known, which)
        if unknown in BESIDE_OTHERS and known:
            return ask_which(known, request)  # two are as large: no word tells them apart
        if unknown and known:
            return Answer((NoSuchBarrel(unknown, codes),))
    else:
        chosen = tuple(likely or known)
    return chosen or Answer((NoCulture(),))


def one_barrel(
    known: Sequence[Batch], request: Request, likely: Sequence[Batch] = ()
) -> Batch | Answer:
    """The one barrel that is meant, or the question which."""
    chosen = barrels(known, request, likely)
    if isinstance(chosen, Answer):
        return chosen
    if len(chosen) > 1:
        return ask_which(chosen, request)
    return chosen[0]


def ask_which(chosen: Sequence[Batch], request: Request) -> Answer:
    """The question which of these barrels is meant."""
    codes = tuple(each.code for each in chosen)
    options = tuple(Option((code,), code) for code in codes)
    return Answer(question=Question(WhichBarrel(codes), request, "which", options, listed=False))


def one_plan(request: Request, book: Book) -> Rounds | Answer:
    """The one plan of rounds that is meant, as it stands today, or what to say instead."""
    known = [each.ahead(book.today) for each in book.open(rounds.SUBJECT, rounds.fold)]
    crop = request.slots.get("plot") or request.slots.get("crop")
    name = crop.name if isinstance(crop, Term) else str(crop or "")
    asked = next((each for each in book.pending if each.question.request.kind == "sprayed"), None)
    about = frozenset(asked.subject_ids) if asked else frozenset()
    found = plans.meant(known, name, about, book.today)
    if len(found) > 1 or not name:
        # Whoever names no crop of theirs speaks of their own, not of what others have due.
        own = [each for each in known if book.owner_of(each.id) == book.member.id]
        found = plans.meant(own, name, about, book.today) or found
    if not found:
        return Answer((NoPlan(),))
    if len(found) > 1:
        crops: tuple[Any, ...] = tuple(Term("crop", each.crop) for each in found)
        if len({each.crop for each in found}) < len(found):
            # The same crop on several plots: only the plans' own short names tell them apart.
            crops = tuple(each.code for each in found)
        options = tuple(Option(crop, crop) for crop in crops)
        asking = Question(WhichPlan(crops), request, "crop", options, listed=False)
        return Answer(question=asking)
    return found[0]


def plan_after(plan: Rounds, entry: Entry, book: Book) -> Rounds:
    """The plan as it stands with one more entry."""
    head, entries = book.told(plan.id)
    return rounds.fold(head, [*entries, entry])
