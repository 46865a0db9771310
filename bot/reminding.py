"""The door of time: what is due becomes words in the outbox, one message a member and hour."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from datetime import datetime, timedelta
from types import ModuleType
from zoneinfo import ZoneInfo

from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError

from bot.ceilings import ALERT, ROUTINE, MoreMayWait, Room, room
from bot.clock import instant, next_local_hour
from bot.craft import circle as circles
from bot.posting import Rooms, Stamp, post
from bot.quiet import quiet_until
from bot.recipes import own
from bot.records import journal, people, questions, rules, tallies, timekeeping
from bot.records.book import Book
from bot.records.changes import Answer
from bot.records.people import Group, Member
from bot.records.store import Store, is_passing
from bot.sharing import ForWhom, in_group

log = logging.getLogger(__name__)

A_BITE = 16
"""Members worded in one transaction: what the first of them are told need not wait for the rest."""
AT_LEAST = 8
"""Members worded in one transaction even where others wait for the writer: a commit has its price
on a memory card, and eight members take well under a tenth of a second."""


class Reminding:
    """Turns members' due rules into words."""

    def __init__(self, store: Store, rooms: Rooms) -> None:
        self.store = store
        self.rooms = rooms

    def due(self, now: datetime, limit: int = A_BITE) -> int:
        """Turn what is due for up to `limit` members into outbox rows; how many members it was.

        What falls due for one member in the same local hour is one message. Fewer members are
        turned where a message or a courier waits for the database's one writer.
        """
        turned = 0
        with self.store.begin() as tx:
            if not timekeeping.is_trusted(tx, now):
                return 0
            owners = rules.owners_due(tx, now, limit)
            if not self.store.is_sqlite:
                owners = people.not_busy(tx, owners)
            for owner in owners:
                try:
                    with tx.begin_nested():
                        self._remind(tx, owner, now)
                except Exception as fault:
                    if is_passing(fault):
                        raise
                    log.exception("reminders of member %s failed", owner)
                    rules.give_up(tx, owner, now)
                turned += 1
                if turned >= AT_LEAST and self.store.is_wanted():
                    break
        return turned

    def _remind(self, tx: Connection, owner: str, now: datetime) -> None:
        member = people.by_id(tx, owner)
        until = next_local_hour(now, member.zone if member else "UTC") - timedelta(microseconds=1)
        here = people.reach(tx, owner) if member and member.stopped_at is None else None
        if member is None or here is None:
            rules.said(tx, rules.take(tx, owner, now, until), None)
            return
        ceiling = self._room(tx, member, now, until)
        if ceiling is None:
            return
        taken = rules.take(tx, owner, now, until)
        group = people.group_of(tx, member.group_id)
        book = Book(
            tx=tx,
            now=now,
            said_at=now,
            member=member,
            group=group,
            recipes=own.of_group(self.rooms.recipes, group.settings),
            languages=self.rooms.languages,
        )
        answers = self._reminded(taken, book)
        if not answers:
            rules.said(tx, taken, None)
            return
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
        outbox_id = post(tx, self.rooms, member, here, facts, words, stamp, now)
        rules.said(tx, taken, outbox_id)

    def _elsewhere(
        self, tx: Connection, member: Member, answers: Sequence[tuple[ModuleType, Answer]]
    ) -> Group | None:
        """The other group that all of it is about, where it is not that of the messages now."""
        about = {journal.group_of(tx, each) for _module, answer in answers for each in answer.about}
        if len(about) != 1 or member.group_id in about:
            return None
        return people.group_of(tx, about.pop())

    def _reminded(
        self, taken: Sequence[rules.Taken], book: Book
    ) -> list[tuple[ModuleType, Answer]]:
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

    def _room(self, tx: Connection, member: Member, now: datetime, until: datetime) -> Room | None:
        """Whether what is due may be said now; None: all of it waits, with its own days."""
        kinds = rules.kinds_due(tx, member.id, until)
        quiet_end = quiet_until(now, member.zone, member.settings) or _fast_ends(tx, member, now)
        if quiet_end is not None:
            rules.postpone(tx, member.id, until, quiet_end, kinds)
            return None
        alerts = {kind for kind in kinds if is_alert(self.rooms.reminders.get(kind))}
        alert_room = room(tx, member, ALERT, now) if alerts else Room()
        if alerts and alert_room.free_at is None:
            return alert_room
        routine = kinds - alerts
        routine_room = room(tx, member, ROUTINE, now) if routine else Room()
        for held, its_room in ((alerts, alert_room), (routine, routine_room)):
            if held and its_room.free_at is not None:
                tallies.add(
                    tx,
                    "over_the_ceiling",
                    rules.postpone(tx, member.id, until, its_room.free_at, held),
                )
        return routine_room if routine and routine_room.free_at is None else None


def _fast_ends(tx: Connection, member: Member, now: datetime) -> datetime | None:
    """When the fast of the member's group is over for today, if they fast now; else None."""
    here = now.astimezone(ZoneInfo(member.zone))
    for circle in journal.open_subjects(tx, member.group_id, circles.SUBJECT, circles.fold):
        ends = circle.fast_ends(here.date(), here.time())
        if ends is not None:
            return max(instant(*ends, member.zone), now + timedelta(minutes=1))
    return None


def is_alert(module: ModuleType | None) -> bool:
    """Whether a reminder brings a dose, or something else that must not wait for a free day."""
    return getattr(module, "CEILING", ROUTINE) == ALERT
