"""The door of time: what is due becomes words in the outbox, one message a member and hour."""

from __future__ import annotations

import logging
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from types import ModuleType
from zoneinfo import ZoneInfo

from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError

from bot import due_members
from bot.ceilings import ALERT, ROUTINE, MoreMayWait, Room, room
from bot.clock import instant
from bot.craft import circle as circles
from bot.due_members import DueMember
from bot.posting import Post, Rooms, Stamp, put, word
from bot.quiet import quiet_until
from bot.recipes import own
from bot.records import journal, passing_by, people, questions, rules, tallies, timekeeping
from bot.records.book import Book
from bot.records.changes import Answer
from bot.records.people import Group, Member
from bot.records.rules import Taken
from bot.records.store import Store, is_passing
from bot.sharing import ForWhom, in_group

log = logging.getLogger(__name__)

A_BITE = 64
"""Members worded in one transaction at most: a message or a courier that waits for the database's
one writer then waits well under a tenth of a second."""
AT_A_LOOK = 4 * A_BITE
"""Members among whom a worker on PostgreSQL looks for some that nobody holds."""


@dataclass(frozen=True, slots=True)
class Said:
    """What became of one member's due rules: in words (None: of no use), or they wait."""

    taken: Sequence[Taken]
    post: Post | None = None


class Reminding:
    """Turns members' due rules into words."""

    def __init__(self, store: Store, rooms: Rooms) -> None:
        self.store = store
        self.rooms = rooms

    def due(self, now: datetime, limit: int = A_BITE) -> int:
        """Turn what is due for up to `limit` members into outbox rows; how many members it was.

        What falls due for one member in the same local hour is one message.
        """
        with self.store.begin() as tx:
            if not timekeeping.is_trusted(tx, now):
                return 0
            if self.store.is_sqlite:
                owners = rules.owners_due(tx, now, limit)
            else:
                # Several workers come at the same moment: each finds some that no other holds.
                owners = people.not_busy(tx, rules.owners_due(tx, now, AT_A_LOOK), limit)
            if not owners:
                return 0
            try:
                with tx.begin_nested():
                    self._remind(tx, owners, now)
            except Exception as fault:
                if is_passing(fault):
                    raise
                for owner in owners:
                    self._alone(tx, owner, now)
            return len(owners)

    def _alone(self, tx: Connection, owner: str, now: datetime) -> None:
        """One of several cannot be reminded: the others are, and it is passed over."""
        try:
            with tx.begin_nested():
                self._remind(tx, [owner], now)
        except Exception as fault:
            if is_passing(fault):
                raise
            log.exception("reminders of member %s failed", owner)
            try:
                with tx.begin_nested():
                    passing_by.pass_by(tx, [owner], now, "failed")
            except Exception as worse:
                if is_passing(worse):
                    raise
                # Not even their next days can be reckoned: they wait until they are changed.
                passing_by.rest(tx, owner, now)

    def _remind(self, tx: Connection, owners: Sequence[str], now: datetime) -> None:
        """Word what is due for these members, and write all of it."""
        known = due_members.look(tx, owners, now)
        gone = sorted(set(owners) - {each.member.id for each in known})
        if gone:
            passing_by.pass_by(tx, gone, now, "moot")
        said = [self._words(tx, each, now) for each in known]
        rows = put(tx, [each.post for each in said if each.post is not None], now)
        rules.settle(tx, [days for each in said for days in _days(each, rows)], now)

    def _words(self, tx: Connection, due: DueMember, now: datetime) -> Said:
        member, here = due.member, due.here
        if here is None:
            return Said(rules.take(due.waiting, now, due.until))
        ceiling, kinds = self._room(tx, due, now)
        taken = rules.take(
            (each for each in due.waiting if each.rule.kind in kinds), now, due.until
        )
        book = Book(
            tx=tx,
            now=now,
            said_at=now,
            member=member,
            group=due.group,
            recipes=own.of_group(self.rooms.recipes, due.group.settings),
            languages=self.rooms.languages,
        )
        answers = self._reminded(taken, book)
        if not answers:
            return Said(taken)
        for _module, answer in answers:
            if answer.question is not None:
                questions.ask(tx, member.id, answer.question, answer.about, now, None)
        facts = [fact for _module, answer in answers for fact in answer.facts]
        if here.member_id != member.id:
            facts.insert(0, ForWhom(member.name))
        elsewhere = self._elsewhere(tx, member, answers)
        if elsewhere is not None:
            facts.insert(0, in_group(elsewhere))
        if ceiling.last:
            facts.append(MoreMayWait())
        alert = any(is_alert(module) for module, _answer in answers)
        harmless = all(getattr(module, "REPEAT", "") == "same" for module, _answer in answers)
        first = min(taken, key=lambda each: each.rule_id)
        useful_hours = min(module.USEFUL_HOURS for module, _answer in answers)
        stamp = Stamp(
            f"due:{first.rule_id}:{first.due.due_on}:{now:%Y%m%dT%H%M%S}",
            "reminder",
            valid_until=now + timedelta(hours=useful_hours),
            ceiling=ALERT if alert else ROUTINE,
            repeat="same" if harmless else "said",
        )
        words = [answer for _module, answer in answers]
        return Said(taken, word(tx, self.rooms, member, here, facts, words, stamp, now))

    def _elsewhere(
        self, tx: Connection, member: Member, answers: Sequence[tuple[ModuleType, Answer]]
    ) -> Group | None:
        """The other group that all of it is about, where it is not that of the messages now."""
        about = {journal.group_of(tx, each) for _module, answer in answers for each in answer.about}
        if len(about) != 1 or member.group_id in about:
            return None
        return people.group_of(tx, about.pop())

    def _reminded(self, taken: Sequence[Taken], book: Book) -> list[tuple[ModuleType, Answer]]:
        """What each kind has to say; one that fails is counted, and the others go on."""
        answers: list[tuple[ModuleType, Answer]] = []
        for module in sorted(self.rooms.reminders.values(), key=lambda each: each.ORDER):
            dues = [
                each.due for each in taken if not each.lapsed and each.due.rule.kind == module.KIND
            ]
            if not dues:
                continue
            try:
                answer: Answer = module.facts(dues, book)
            except Exception as fault:
                if isinstance(fault, DBAPIError):
                    raise
                log.exception("reminder %s of member %s failed", module.KIND, book.member.id)
                tallies.add(book.tx, "reminders_failed", len(dues))
                continue
            if answer.facts or answer.question:
                answers.append((module, answer))
        return answers

    def _room(self, tx: Connection, due: DueMember, now: datetime) -> tuple[Room, frozenset[str]]:
        """The kinds of what is due that may be said now; the others wait, with their own days."""
        member = due.member
        kinds = frozenset(each.rule.kind for each in due.waiting)
        quiet_end = quiet_until(now, member.zone, member.settings) or _fast_ends(tx, due, now)
        if quiet_end is not None:
            rules.postpone(tx, member.id, due.until, quiet_end, kinds)
            return Room(), frozenset()
        alerts = {kind for kind in kinds if is_alert(self.rooms.reminders.get(kind))}
        alert_room = room(tx, member, ALERT, due.sent, now) if alerts else Room()
        if alerts and alert_room.free_at is None:
            return alert_room, kinds
        routine = kinds - alerts
        routine_room = room(tx, member, ROUTINE, due.sent, now) if routine else Room()
        for held, its_room in ((alerts, alert_room), (routine, routine_room)):
            if held and its_room.free_at is not None:
                tallies.add(
                    tx,
                    "over_the_ceiling",
                    rules.postpone(tx, member.id, due.until, its_room.free_at, held),
                )
        return routine_room, routine if routine_room.free_at is None else frozenset()


def _days(said: Said, rows: Mapping[str, int]) -> list[tuple[Taken, str, int | None]]:
    outbox_id = None if said.post is None else rows.get(said.post.letter.key)
    return [(each, "said" if outbox_id else "moot", outbox_id) for each in said.taken]


def _fast_ends(tx: Connection, due: DueMember, now: datetime) -> datetime | None:
    """When the fast of the member's group is over for today, if they fast now; else None."""
    if not due.fasts:
        return None
    member = due.member
    here = now.astimezone(ZoneInfo(member.zone))
    for circle in journal.open_subjects(tx, member.group_id, circles.SUBJECT, circles.fold):
        ends = circle.fast_ends(here.date(), here.time())
        if ends is not None:
            return max(instant(*ends, member.zone), now + timedelta(minutes=1))
    return None


def is_alert(module: ModuleType | None) -> bool:
    """Whether a reminder brings a dose, or something else that must not wait for a free day."""
    return getattr(module, "CEILING", ROUTINE) == ALERT
