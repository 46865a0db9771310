"""One member's requests of one message: answered, allowed, written, settled."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from bot.facts import Fact, Request
from bot.messages import Incoming
from bot.permission import after, before
from bot.posting import Rooms
from bot.recipes import own
from bot.records import journal, pages, people, questions, taking_back
from bot.records.book import Book
from bot.records.changes import Added, Answer, Forgotten, GroupSet, Resumed, Stopped, Told
from bot.records.people import BOARD, Member
from bot.records.recording import Writing
from bot.records.store import Store
from bot.settling import settle
from bot.sharing import group_asked, in_group
from bot.telling import Teller, tell
from bot.wanting import reconcile


@dataclass(frozen=True, slots=True)
class NotOffered(Fact):
    """It was understood, and nothing here does it; what to send to see what can be done."""

    words = "exchange.not-offered"


@dataclass(frozen=True, slots=True)
class NothingMore(Fact):
    """`more` was asked, and there is nothing more."""

    words = "exchange.nothing-more"


@dataclass(slots=True)
class Turn:
    """What was gathered to say and to ask in answer to one message.

    `asked` is how many of the answers have their questions kept already. `added_id` and
    `added_text` are somebody who was just added and what was said for them. `silent`: nothing is
    said at all; `free_at`: only that answers wait until then.
    """

    facts: list[Fact] = field(default_factory=list)
    answers: list[Answer] = field(default_factory=list)
    told: list[Told] = field(default_factory=list)
    last_word: bool = False
    page: str = ""
    asked: int = 0
    added_id: str = ""
    added_text: str = ""
    silent: bool = False
    free_at: datetime | None = None
    member_changed: bool = False
    """Whether whoever is answered may be kept otherwise by now than they were read."""


@dataclass(frozen=True, slots=True)
class Visit:
    """One message that came: from whose phone, when it was sent, under which number."""

    incoming: Incoming
    holder: Member
    said_at: datetime
    exchange_id: int


class Answering:
    """Hands requests to their rooms and writes what comes back."""

    def __init__(self, store: Store, rooms: Rooms) -> None:
        self.store = store
        self.rooms = rooms

    def request(
        self,
        request: Request,
        turn: Turn,
        writing: Writing,
        visit: Visit,
        pending: Sequence[questions.Open],
    ) -> None:
        """Answer one request: what it says goes into `turn`, what it records is written.

        Who may not do it is told who may, and nothing is written.
        """
        if request.kind == "more":
            turn.page = pages.take(writing.tx, visit.holder.id, writing.now)
            if not turn.page:
                turn.facts.append(NothingMore())
            return
        member = writing.as_now()
        elsewhere = group_asked(writing.tx, request, member, pending)
        if elsewhere is not None:
            turn.facts.append(in_group(elsewhere))
            member = replace(member, group_id=elsewhere.id)
        writing.member = member
        book = self._book(member, writing, visit, pending)
        refused = before(request, book)
        if refused is not None:
            turn.facts.append(refused)
            return
        room = self.rooms.requests.get(request.kind)
        if room is None:
            turn.facts.append(NotOffered())
            return
        certain = settle(
            request,
            member.country,
            book.group.settings.get("units", {}),
            member.settings.get("measures", {}),
        )
        if certain.question is not None:
            turn.answers.append(Answer(question=certain.question))
            return
        if certain.chosen:
            units = {**book.group.settings.get("units", {}), **certain.chosen}
            writing.write(GroupSet("units", units))
        answer: Answer = room.answer(certain.request, book)
        refused = after(request, answer.changes, book)
        if refused is not None:
            turn.facts.append(refused)
            return
        for change in answer.changes:
            if isinstance(change, Told):
                turn.told.append(change)
                continue
            if isinstance(change, Added):
                turn.added_text = str(request.slots.get("text", ""))
            turn.last_word |= isinstance(change, Stopped | Forgotten)
            turn.last_word &= not isinstance(change, Resumed)
            writing.write(change)
        turn.facts.extend(answer.facts)
        turn.answers.append(answer)
        questions.close(
            writing.tx,
            [
                each.id
                for each in pending
                if each.question.request.kind == request.kind
                and set(each.subject_ids) <= writing.touched
            ],
            writing.now,
            writing.exchange_id,
        )

    def _book(
        self, member: Member, writing: Writing, visit: Visit, pending: Sequence[questions.Open]
    ) -> Book:
        tx, holder, incoming = writing.tx, visit.holder, visit.incoming
        role = people.role_in(tx, member.group_id, member.id) or "stranger"
        roles = ["stranger" if role == BOARD else role]
        if holder.id != member.id:
            roles.append(people.role_in(tx, member.group_id, holder.id) or "stranger")
        group = writing.group_now()
        sender = f"{incoming.channel}:{incoming.address}"
        return Book(
            tx=tx,
            now=writing.now,
            said_at=visit.said_at,
            member=member,
            group=group,
            recipes=own.of_group(self.rooms.recipes, group.settings),
            pending=tuple(pending),
            place=incoming.place,
            languages=self.rooms.languages,
            roles=tuple(each for each in roles if each == "keeper") or (roles[0],),
            writer=holder if holder.id != member.id else None,
            forgeable=self.rooms.manner(incoming.channel).forgeable,
            sender=hashlib.sha256(sender.encode()).hexdigest()[:32],
            noticeboard=incoming.noticeboard,
            new_id=self.store.new_id,
        )

    def settle(self, turn: Turn, writing: Writing, now: datetime) -> None:
        """Keep the questions, make the reminders follow what was written, tell the others."""
        tx, member = writing.tx, writing.member
        for answer in turn.answers[turn.asked :]:
            if answer.question is not None:
                questions.ask(
                    tx, member.id, answer.question, answer.about, now, writing.exchange_id
                )
        turn.asked = len(turn.answers)
        touched = set(writing.touched)
        if writing.member_touched:
            touched |= set(journal.open_ids(tx, member.group_id))
        for subject_id in sorted(writing.touched):
            taking_back.recall(tx, subject_id, now)
        reconcile(tx, self.rooms, touched, now)
        for number, told in enumerate(turn.told):
            tell(tx, self.rooms, told, Teller(writing.member, writing.exchange_id, number), now)
        turn.told.clear()
