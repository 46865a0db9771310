"""A message: changes recorded, wanted rules reconciled, facts worded, outbox written.

All of it in one transaction. What falls due comes in by another door, `reminding.py`.
"""

from __future__ import annotations

import logging
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row

from bot.answering import Answering, Turn, Visit
from bot.beside import beside, cut_short
from bot.context import hearing_of, without_words
from bot.facts import Fact, Request
from bot.language.hearing import Understood
from bot.messages import Incoming
from bot.permission import row_of
from bot.posting import Rooms, Stamp, post
from bot.records import addresses, inbox, outbox, people, questions, tallies
from bot.records.changes import Answer
from bot.records.people import Member
from bot.records.recording import Writing
from bot.records.store import Store, is_passing
from bot.reminding import Reminding
from bot.restraint import Held, TooMany, held
from bot.senders import heard_of, writer
from bot.sharing import ForWhom, Whom, joining, whose

log = logging.getLogger(__name__)

MOST_TRIES = 2
HEARD_WHEN_STOPPED = frozenset({"resume", "help"})
ALWAYS_ANSWERED = frozenset({"resume", "stop"})
SMALL_TALK = frozenset({"greet", "thanks"})


@dataclass(frozen=True, slots=True)
class NotHandled(Fact):
    """Something went wrong with this message on our side; it was set aside and kept."""

    words = "exchange.not-handled"


@dataclass(frozen=True, slots=True)
class Unreadable(Fact):
    """The channel could not read what came, and the sender can mend it."""

    words = "exchange.unreadable"
    fault: str


class Exchange:
    """Turns one message, or one member's due rules, into records and words."""

    def __init__(self, store: Store, rooms: Rooms) -> None:
        self.store = store
        self.rooms = rooms
        self.due = Reminding(store, rooms).due
        self.answering = Answering(store, rooms)

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
            if row is None or is_passing(fault):
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
                stamp = Stamp(f"in:{row.id}", "reply")
                post(tx, self.rooms, member, here, [NotHandled()], (), stamp, now)

    def _answer(self, tx: Connection, row: Row[Any], now: datetime) -> None:
        incoming = inbox.incoming_of(row)
        if incoming.reachable is not None:
            heard_of(tx, incoming, now)
            inbox.finish(tx, row.id, "")
            return
        member = writer(tx, self.store, self.rooms, incoming, now)
        if member is None:
            tallies.add(tx, "newcomers_turned_away")
            inbox.turn_away(tx, row.id, "too many new numbers at once")
            return
        addresses.heard(tx, incoming.channel, incoming.address, now)
        if incoming.fault:
            self._unreadable(tx, row.id, member, incoming, now)
            return
        self._hear(tx, row.id, incoming, member, now)

    def _hear(
        self, tx: Connection, inbox_id: int, incoming: Incoming, holder: Member, now: datetime
    ) -> None:
        """Everything one message says, for whoever's phone it came from or somebody it names."""
        visit = Visit(incoming, holder, min(incoming.sent_at, now), inbox_id)
        whom = whose(tx, holder, incoming.text, self.rooms.addressed(incoming.text))
        turn = Turn(facts=list(whom.facts))
        spoken = self._turn(tx, visit, whom, turn, now)
        before = whom.member
        added = people.by_id(tx, turn.added_id) if turn.added_text else None
        if added is not None:
            # Whoever was just added: now what was said for them.
            turn.facts.append(ForWhom(added.name))
            self._turn(tx, visit, Whom(added, turn.added_text), turn, now)
        if turn.free_at is not None:
            self._hold(tx, holder, incoming, turn.free_at, now)
        elif not turn.silent:
            self._speak(tx, visit, turn, before, spoken, now)
        inbox.finish(tx, inbox_id, holder.id)

    def _turn(self, tx: Connection, visit: Visit, whom: Whom, turn: Turn, now: datetime) -> str:
        """Everything one member asks or tells in a message; the language they have after it."""
        member, incoming, holder = whom.member, visit.incoming, visit.holder
        pending = questions.waiting(tx, member.id, now)
        group = people.group_of(tx, member.group_id)
        hearing = hearing_of(tx, self.rooms, member, group, visit, pending)
        understood = whom.understood or without_words(incoming, pending)
        if understood is None:
            understood = self.rooms.understand(whom.text, hearing)
        if not member.language and understood.language:
            people.settle_language(tx, member.id, understood.language)
            turn.member_changed = True
            member = replace(member, language=understood.language)
        kinds = {request.kind for request in understood.requests}
        stopped = member.stopped_at or holder.stopped_at
        if stopped is not None and not kinds & HEARD_WHEN_STOPPED:
            # A second STOP too: one message confirms the first, and nothing comes after it.
            turn.silent = True
            return member.language
        holding = self._holding(tx, holder, incoming, understood.requests, now)
        if holding.machine:
            turn.silent = True
            return member.language
        if whom.joining:
            understood = self._unknown(tx, understood, whom, turn)
        writing = Writing(tx, self.store, visit.exchange_id, member, now, group=group)
        if member.id != holder.id:
            writing.by_member_id = holder.id
        for request in understood.requests:
            if holding.free_at is None or request.kind != "more":
                self.answering.request(request, turn, writing, visit, pending)
        if understood.doubt is not None:
            turn.facts.append(understood.doubt)
        if understood.question is not None:
            turn.answers.append(Answer(question=understood.question))
        if holding.free_at is not None:
            # A question that is not sent is not asked either.
            turn.answers.clear()
            turn.free_at = holding.free_at
        self.answering.settle(turn, writing, now)
        turn.member_changed |= writing.member_changed
        turn.added_id = writing.added_id or turn.added_id
        return writing.member.language

    def _unknown(
        self, tx: Connection, understood: Understood, whom: Whom, turn: Turn
    ) -> Understood:
        """What becomes of words for somebody whom nobody here knows."""
        member = whom.member
        is_keeper = people.role_in(tx, member.group_id, member.id) == "keeper"
        asked = joining(understood.requests, whom, row_of, is_keeper=is_keeper)
        if isinstance(asked, Fact):
            turn.facts.append(asked)
            return Understood(language=understood.language)
        return Understood(asked, language=understood.language)

    def _speak(
        self, tx: Connection, visit: Visit, turn: Turn, before: Member, spoken: str, now: datetime
    ) -> None:
        """What was gathered goes into the outbox, with what is told beside it."""
        incoming, holder, number = visit.incoming, visit.holder, visit.exchange_id
        member = before
        if turn.member_changed:
            member = people.by_id(tx, before.id) or before
        # Who asked to be forgotten is still told so in their own words.
        member = member if member.language else replace(member, language=spoken)
        here = people.Address(
            incoming.channel, incoming.address, incoming.noticeboard, member_id=holder.id
        )
        # What somebody who stopped has asked for is the one thing they are sent.
        turn.last_word |= before.stopped_at is not None and member.stopped_at is not None
        if turn.facts and not turn.last_word:
            manner = self.rooms.manner(incoming.channel)
            after = beside(before, member, manner, turn.facts, now)
            turn.facts[:] = [*cut_short(incoming, turn.facts), *turn.facts, *after]
        if turn.page:
            outbox.put(
                tx,
                [
                    outbox.Letter(
                        key=f"in:{number}",
                        repeat="said",
                        channel=here.channel,
                        address=here.address,
                        member_id=holder.id,
                        text=turn.page,
                        kind="reply",
                        priority=outbox.REPLY,
                        exchange_id=number,
                    )
                ],
                now,
            )
        elif turn.facts or any(answer.question for answer in turn.answers):
            kind = "last" if turn.last_word else "reply"
            stamp = Stamp(f"in:{number}", kind, exchange_id=number)
            post(tx, self.rooms, member, here, turn.facts, turn.answers, stamp, now)

    def _holding(
        self,
        tx: Connection,
        member: Member,
        incoming: Incoming,
        requests: Sequence[Request],
        now: datetime,
    ) -> Held:
        """Whether this message's answer is held back."""
        if any(request.kind in ALWAYS_ANSWERED for request in requests):
            return Held()
        manner = self.rooms.manner(incoming.channel)
        idle = all(_is_small_talk(request) for request in requests)
        holding = held(tx, member, incoming, manner, now, idle=idle)
        if holding.machine:
            tallies.add(tx, "machines_left_alone")
        return holding

    def _hold(
        self, tx: Connection, member: Member, incoming: Incoming, until: datetime, now: datetime
    ) -> None:
        """Say once that answers wait."""
        tallies.add(tx, "answers_held_back")
        here = people.Address(incoming.channel, incoming.address, incoming.noticeboard)
        stamp = Stamp(f"many:{member.id}:{until:%Y%m%dT%H%M%S}", "reply")
        post(tx, self.rooms, member, here, [TooMany(until)], (), stamp, now)

    def _unreadable(
        self, tx: Connection, inbox_id: int, member: Member, incoming: Incoming, now: datetime
    ) -> None:
        """Ask for the message again; a machine, and whoever stopped, is not asked."""
        here = people.Address(incoming.channel, incoming.address, incoming.noticeboard)
        holding = self._holding(tx, member, incoming, (), now)
        if member.stopped_at is None and holding == Held():
            stamp = Stamp(f"in:{inbox_id}", "reply", exchange_id=inbox_id)
            post(tx, self.rooms, member, here, [Unreadable(incoming.fault)], (), stamp, now)
        inbox.finish(tx, inbox_id, member.id, status="bad")


def _is_small_talk(request: Request) -> bool:
    """Whether a request asks and tells nothing: thanks, or who somebody is."""
    return request.kind in SMALL_TALK or (
        request.kind == "settings" and set(request.slots) == {"name"}
    )
