"""Whose words a message holds: the phone's owner's, or somebody's who has no phone."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from sqlalchemy import Connection

from bot.facts import Fact, Request, Term
from bot.language.addressing import Addressed
from bot.language.hearing import Understood
from bot.records import journal, people, questions
from bot.records.people import Group, Member


@dataclass(frozen=True, slots=True)
class ForWhom(Fact):
    """What follows is for this one, on a phone that carries words for several."""

    words: ClassVar[str] = "exchange.for-whom"
    name: str


@dataclass(frozen=True, slots=True)
class InGroup(Fact):
    """What follows is about this group, which is not the one of the member's messages now."""

    words: ClassVar[str] = "exchange.in-group"
    group: Any


def in_group(group: Group) -> InGroup:
    """Which group words are about; the one somebody has alone may have no name."""
    return InGroup(group.name or Term("word", "own_group"))


@dataclass(frozen=True, slots=True)
class NobodyCalled(Fact):
    """Nobody of that name is written for here; how that one can come in on this phone."""

    words: ClassVar[str] = "exchange.nobody-called"
    name: str


@dataclass(frozen=True, slots=True)
class OwnPhone(Fact):
    """That one has a phone and writes for themselves; only a keeper may write for them."""

    words: ClassVar[str] = "exchange.own-phone"
    name: str


@dataclass(frozen=True, slots=True)
class Whom:
    """For whom a message is, what it says, and what stands before the answer.

    `understood` stands in for the words where they are known already; `joining` is the name of
    somebody who is to join on this phone.
    """

    member: Member
    text: str
    facts: tuple[Fact, ...] = ()
    understood: Understood | None = None
    joining: str = ""


def whose(tx: Connection, holder: Member, text: str, said: Addressed | None) -> Whom:
    """For whom a message is: whoever's phone it came from, unless it names somebody else."""
    if said is None:
        return Whom(holder, text)
    is_keeper = people.role_in(tx, holder.group_id, holder.id) == "keeper"
    own = people.called(tx, holder.group_id, said.name)
    if any(each.id == holder.id for each in own):
        return Whom(holder, said.text)
    wanted = "".join(said.name.casefold().split())
    on_this_phone = [
        each
        for each in people.carried(tx, holder.id)
        if "".join(each.name.casefold().split()) == wanted and people.groups_of(tx, each.id)
    ]
    found = on_this_phone or (own if is_keeper else ())
    if found:
        return Whom(found[0], said.text, (ForWhom(found[0].name),))
    if not said.plainly:
        return Whom(holder, text)
    if own:
        return Whom(holder, "", (OwnPhone(own[0].name),), Understood())
    return Whom(holder, said.text, joining=said.name)


def joining(
    requests: Sequence[Request], whom: Whom, row_of: Callable[[Request], str], *, is_keeper: bool
) -> tuple[Request, ...] | Fact:
    """What is asked for somebody nobody knows: to join on this phone, or to be added to the group.

    Only a keeper can add somebody; everyone else needs a code.
    """
    if requests and all(row_of(each) == "join" for each in requests):
        return tuple(each.with_slots(member=whom.joining) for each in requests)
    if not is_keeper:
        return NobodyCalled(whom.joining)
    slots = {"action": "add", "name": whom.joining, "text": whom.text}
    return (Request("group", slots),)


def group_asked(
    tx: Connection, request: Request, member: Member, pending: Sequence[questions.Open]
) -> Group | None:
    """The group that the question this answers is about, where it is another one of theirs."""
    asked = next((each for each in pending if each.question.request.kind == request.kind), None)
    if asked is None or not asked.subject_ids:
        return None
    about = {journal.group_of(tx, each) for each in asked.subject_ids}
    if member.group_id in about:
        return None
    return next((each for each in people.groups_of(tx, member.id) if each.id in about), None)
