"""Two doors, a message and a due rule; behind both the same room.

Changes are recorded, wanted rules reconciled, facts worded and the outbox written, in one
transaction.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from types import ModuleType
from typing import Any

from sqlalchemy import Connection, Row
from sqlalchemy.exc import DBAPIError

from bot.clock import local_day, next_local_hour
from bot.facts import Fact, Question, Request, Tending
from bot.language.hearing import Hearing, Understood
from bot.messages import Incoming, Manner
from bot.records import inbox, journal, outbox, pages, people, questions, rules
from bot.records.book import Book
from bot.records.changes import Answer, Forgotten, GroupSet, Resumed, Stopped, Told
from bot.records.people import Member
from bot.records.recording import Writing
from bot.records.store import Store
from bot.settling import settle
from bot.wording.say import Worded
from bot.wording.voice import Voice

log = logging.getLogger(__name__)

MOST_TRIES = 2
HEARD_WHEN_STOPPED = frozenset({"resume", "help", "stop"})


@dataclass(frozen=True, slots=True)
class NotHandled(Fact):
    """Something went wrong with this message on our side; it was set aside and kept."""

    words = "exchange.not-handled"


@dataclass(frozen=True, slots=True)
class NothingMore(Fact):
    """`more` was asked, and there is nothing more."""

    words = "exchange.nothing-more"


@dataclass(frozen=True, slots=True)
class Rooms:
    """The rooms an exchange passes through, put together by the assembly."""

    requests: Mapping[str, ModuleType]
    reminders: Mapping[str, ModuleType]
    subjects: Mapping[str, ModuleType]
    recipes: Mapping[str, Any]
    understand: Callable[[str, Hearing], Understood]
    say: Callable[[Sequence[Fact], Question | None, Voice, Manner], Worded]
    manner: Callable[[str], Manner]
    newcomer: Callable[[Incoming], Mapping[str, Any]]
    languages: tuple[str, ...]


@dataclass(slots=True)
class Turn:
    """One member's turn in a transaction: what was gathered to say and to ask."""

    facts: list[Fact] = field(default_factory=list)
    answers: list[Answer] = field(default_factory=list)
    told: list[Told] = field(default_factory=list)
    last_word: bool = False
    page: str = ""


class Exchange:
    """Turns one message, or one member's due rules, into records and words."""

    def __init__(self, store: Store, rooms: Rooms) -> None:
        self.store = store
        self.rooms = rooms

    # --- a message ----------------------------------------------------------------------------

    def message(self, now: datetime) -> bool:
        """Handle the oldest waiting message; False when none waits.

        One that cannot be handled is set aside with its cause, and its sender told.
        """
        row: Row[Any] | None = None
        try:
            with self.store.begin() as tx:
                row = inbox.first_waiting(tx, self.store.is_sqlite)
                if row is None:
                    return False
                self._answer(tx, row, now)
        except Exception as fault:
            if row is None or (isinstance(fault, DBAPIError) and fault.connection_invalidated):
                raise
            log.exception("message %s failed", row.id)
            self._set_aside(row, fault, now)
        return True

    def _set_aside(self, row: Row[Any], fault: Exception, now: datetime) -> None:
        with self.store.begin() as tx:
            if not inbox.set_aside(tx, row.id, type(fault).__name__, MOST_TRIES):
                return
            member = people.by_address(tx, row.channel, row.address)
            if member is not None:
                here = people.Address(row.channel, row.address, noticeboard=False)
                self._post(tx, member, here, [NotHandled()], f"in:{row.id}", now, kind="reply")

    def _answer(self, tx: Connection, row: Row[Any], now: datetime) -> None:
        incoming = inbox.incoming_of(row)
        member = self._member(tx, incoming, now)
        people.heard(tx, incoming.channel, incoming.address, now)
        said_at = min(incoming.sent_at, now)
        pending = questions.waiting(tx, member.id, now)
        hearing = self._hearing(tx, member, incoming, said_at, pending)
        understood = _without_words(incoming, pending) or self.rooms.understand(
            incoming.text, hearing
        )
        if not member.language and understood.language:
            people.settle_language(tx, member.id, understood.language)
            member = replace(member, language=understood.language)
        kinds = {request.kind for request in understood.requests}
        if member.stopped_at is not None and not kinds & HEARD_WHEN_STOPPED:
            inbox.finish(tx, row.id, member.id)
            return
        writing = Writing(tx, self.store, row.id, member, now)
        turn = Turn()
        for request in understood.requests:
            self._request(request, turn, writing, incoming, said_at, pending)
        if understood.doubt is not None:
            turn.facts.append(understood.doubt)
        if understood.question is not None:
            turn.answers.append(Answer(question=understood.question))
        self._settle(turn, writing, now)
        member = people.by_id(tx, member.id) or member
        here = people.Address(incoming.channel, incoming.address, incoming.noticeboard)
        if turn.page:
            outbox.put(
                tx,
                outbox.Letter(
                    key=f"in:{row.id}",
                    channel=here.channel,
                    address=here.address,
                    member_id=member.id,
                    text=turn.page,
                    kind="reply",
                    priority=outbox.REPLY,
                    exchange_id=row.id,
                ),
                now,
            )
        elif turn.facts or any(answer.question for answer in turn.answers):
            self._post(
                tx,
                member,
                here,
                turn.facts,
                f"in:{row.id}",
                now,
                kind="last" if turn.last_word else "reply",
                exchange_id=row.id,
                answers=turn.answers,
            )
        inbox.finish(tx, row.id, member.id)

    def _member(self, tx: Connection, incoming: Incoming, now: datetime) -> Member:
        found = people.by_address(tx, incoming.channel, incoming.address)
        if found is not None:
            return people.by_id(tx, found.id, lock=not self.store.is_sqlite) or found
        return people.welcome(
            tx,
            member_id=self.store.new_id(),
            group_id=self.store.new_id(),
            channel=incoming.channel,
            address=incoming.address,
            now=now,
            name=incoming.name,
            noticeboard=incoming.noticeboard,
            **self.rooms.newcomer(incoming),
        )

    def _hearing(
        self,
        tx: Connection,
        member: Member,
        incoming: Incoming,
        said_at: datetime,
        pending: Sequence[questions.Open],
    ) -> Hearing:
        group = people.group_of(tx, member.group_id)
        return Hearing(
            said_at=said_at,
            zone=member.zone,
            language=member.language or incoming.language_hint,
            pending=tuple(each.question for each in pending),
            names=journal.names(tx, member.group_id),
            country=member.country,
            tank_ml=member.settings.get("tank_ml"),
            settled={**group.settings, **member.settings},
        )

    def _request(
        self,
        request: Request,
        turn: Turn,
        writing: Writing,
        incoming: Incoming,
        said_at: datetime,
        pending: Sequence[questions.Open],
    ) -> None:
        if request.kind == "more":
            turn.page = pages.take(writing.tx, writing.member.id, writing.now)
            if not turn.page:
                turn.facts.append(NothingMore())
            return
        member = people.by_id(writing.tx, writing.member.id) or writing.member
        writing.member = member
        book = Book(
            tx=writing.tx,
            now=writing.now,
            said_at=said_at,
            member=member,
            group=people.group_of(writing.tx, member.group_id),
            recipes=self.rooms.recipes,
            pending=tuple(pending),
            place=incoming.place,
            languages=self.rooms.languages,
        )
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
        answer: Answer = self.rooms.requests[request.kind].answer(certain.request, book)
        for change in answer.changes:
            if isinstance(change, Told):
                turn.told.append(change)
                continue
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

    def _settle(self, turn: Turn, writing: Writing, now: datetime) -> None:
        tx, member = writing.tx, writing.member
        for answer in turn.answers:
            if answer.question is not None:
                questions.ask(
                    tx, member.id, answer.question, answer.about, now, writing.exchange_id
                )
        touched = set(writing.touched)
        if writing.member_touched:
            touched |= set(journal.open_ids(tx, member.group_id))
        for subject_id in sorted(writing.touched):
            rules.recall(tx, subject_id, now)
        self.reconcile(tx, touched, now)
        for told in turn.told:
            self._tell(tx, told, writing, now)

    def _tell(self, tx: Connection, told: Told, writing: Writing, now: datetime) -> None:
        if told.keepers:
            everyone = people.members_of(tx, writing.member.group_id, role="keeper")
        else:
            one = people.by_id(tx, told.member_id)
            everyone = (one,) if one else ()
        for each in everyone:
            here = people.reach(tx, each.id)
            if each.id != writing.member.id and here is not None and each.stopped_at is None:
                key = f"told:{writing.exchange_id}:{each.id}"
                self._post(tx, each, here, told.facts, key, now, kind="notice")

    # --- time ---------------------------------------------------------------------------------

    def due(self, now: datetime, limit: int = 50) -> int:
        """Turn what is due for up to `limit` members into outbox rows; how many members it was.

        What falls due for one member in the same local hour is one message.
        """
        with self.store.begin() as tx:
            owners = rules.owners_due(tx, now, limit)
            for owner in owners:
                try:
                    with tx.begin_nested():
                        self._remind(tx, owner, now)
                except Exception as fault:
                    if isinstance(fault, DBAPIError) and fault.connection_invalidated:
                        raise
                    log.exception("reminders of member %s failed", owner)
                    rules.give_up(tx, owner, now)
        return len(owners)

    def _remind(self, tx: Connection, owner: str, now: datetime) -> None:
        member = people.by_id(tx, owner, lock=not self.store.is_sqlite)
        until = next_local_hour(now, member.zone if member else "UTC") - timedelta(microseconds=1)
        taken = rules.take(tx, owner, now, until)
        here = people.reach(tx, owner) if member and member.stopped_at is None else None
        if member is None or here is None:
            rules.said(tx, taken, None)
            return
        book = Book(
            tx=tx,
            now=now,
            said_at=now,
            member=member,
            group=people.group_of(tx, member.group_id),
            recipes=self.rooms.recipes,
            languages=self.rooms.languages,
        )
        answers: list[tuple[ModuleType, Answer]] = []
        for module in sorted(self.rooms.reminders.values(), key=lambda each: each.ORDER):
            dues = [
                each.due for each in taken if not each.lapsed and each.due.rule.kind == module.KIND
            ]
            if dues:
                answers.append((module, module.facts(dues, book)))
        answers = [
            (module, answer) for module, answer in answers if answer.facts or answer.question
        ]
        if not answers:
            rules.said(tx, taken, None)
            return
        for _module, answer in answers:
            if answer.question is not None:
                questions.ask(tx, member.id, answer.question, answer.about, now, None)
        first = min(taken, key=lambda each: each.rule_id)
        outbox_id = self._post(
            tx,
            member,
            here,
            [fact for _module, answer in answers for fact in answer.facts],
            f"due:{first.rule_id}:{first.due.due_on}:{now:%Y%m%dT%H%M%S}",
            now,
            kind="reminder",
            answers=[answer for _module, answer in answers],
            valid_until=now
            + timedelta(hours=min(module.USEFUL_HOURS for module, _answer in answers)),
        )
        rules.said(tx, taken, outbox_id)

    def reconcile(self, tx: Connection, subject_ids: Iterable[str], now: datetime) -> None:
        """Make the kept rules of these subjects the ones their reminders want."""
        kinds = journal.kinds_of(tx, subject_ids)
        for subject_id in sorted(set(subject_ids)):
            kind = kinds.get(subject_id)
            if kind is None or not journal.is_open(tx, subject_id):
                rules.reconcile(tx, subject_id, (), "", now)
                continue
            (folded,) = journal.by_ids(tx, [subject_id], kind, self.rooms.subjects[kind].fold)
            tender_id = journal.tender_of(tx, subject_id)
            tender = people.by_id(tx, tender_id)
            if tender is None:
                rules.reconcile(tx, subject_id, (), "", now)
                continue
            tending = Tending(
                member_id=tender_id,
                zone=tender.zone,
                hour=tender.hour,
                now=now,
                settings={
                    **people.group_of(tx, tender.group_id).settings,
                    "recipes": self.rooms.recipes,
                },
            )
            wanted = [
                each
                for module in self.rooms.reminders.values()
                for each in module.wanted(folded, tending)
            ]
            rules.reconcile(tx, subject_id, wanted, tender_id, now)

    # --- words --------------------------------------------------------------------------------

    def _post(
        self,
        tx: Connection,
        member: Member,
        here: people.Address,
        facts: Sequence[Fact],
        key: str,
        now: datetime,
        *,
        kind: str,
        exchange_id: int | None = None,
        answers: Sequence[Answer] = (),
        valid_until: datetime | None = None,
    ) -> int | None:
        voice = voice_of(member, now)
        manner = self.rooms.manner(here.channel)
        asked = [answer.question for answer in answers if answer.question is not None]
        # Only the last question can have its answers as buttons; the others are said before it.
        said = [*facts, *(each.ask for each in asked[:-1])]
        worded = self.rooms.say(said, asked[-1] if asked else None, voice, manner)
        pages.keep(tx, member.id, worded.pages[1:], now)
        priority = {"reply": outbox.REPLY, "last": outbox.REPLY, "reminder": outbox.REMINDER}
        return outbox.put(
            tx,
            outbox.Letter(
                key=key,
                channel=here.channel,
                address=here.address,
                member_id=member.id,
                text=worded.pages[0],
                kind=kind,
                priority=priority.get(kind, outbox.NOTICE),
                exchange_id=exchange_id,
                about=tuple(about for answer in answers for about in answer.about),
                buttons=worded.buttons,
                valid_until=valid_until,
            ),
            now,
        )


def _without_words(incoming: Incoming, pending: Sequence[questions.Open]) -> Understood | None:
    """What a message says that has no words: a shared place, or a call that rang.

    A missed call costs nothing and means "done" to what was asked last; with nothing open it
    means nothing.
    """
    if incoming.missed_call:
        for each in pending:
            if any(option.value is True for option in each.question.options):
                asked = each.question
                return Understood((asked.request.with_slots(**{asked.slot: True}),))
        return Understood()
    if incoming.place is not None and not incoming.text.strip():
        return Understood((Request("settings"),))
    return None


def voice_of(member: Member, now: datetime) -> Voice:
    """How to speak to a member: language, zone, and the habits they chose."""
    return Voice(
        language=member.language or "en",
        zone=member.zone,
        country=member.country,
        plain_letters=bool(member.settings.get("plain", False)),
        digits=str(member.settings.get("digits", "latin")),
        hours=str(member.settings.get("hours", "")),
        today=local_day(now, member.zone),
    )
