"""What was said too early or in words that no longer hold is taken back: its days come again."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, bindparam, delete, select, update

from bot.facts import Due
from bot.records import occurrence, rules
from bot.records.outbox import OVERTAKEN
from bot.records.tables import fired, outbox, rule

_UNSENT = (
    select(fired.c.outbox_id, outbox.c.status)
    .join(rule, rule.c.id == fired.c.rule_id)
    .join(outbox, outbox.c.id == fired.c.outbox_id)
    .where(
        rule.c.subject_id == bindparam("of_subject"),
        outbox.c.status.in_(["waiting", "sending"]),
    )
    .with_for_update(of=outbox)
)


def recall(tx: Connection, subject_id: str, now: datetime) -> None:
    """Take back words about a subject that nobody was sent yet: they fall due again, as of now.

    Words a courier holds already are marked: it looks again just before it sends them.
    """
    # Held from the look on: none of them changes hands before it is marked.
    found = {row.outbox_id: row.status for row in tx.execute(_UNSENT, {"of_subject": subject_id})}
    for outbox_id, status in found.items():
        held = update(outbox).where(outbox.c.id == outbox_id)
        if status == "sending":
            tx.execute(held.values(cause=OVERTAKEN))
        else:
            tx.execute(held.values(status="dropped", cause=OVERTAKEN))
            rearm(tx, outbox_id, now)


def rearm(tx: Connection, outbox_id: int, now: datetime) -> None:
    """The days a dropped row spoke of fall due again, as of now."""
    days = tx.execute(select(fired).where(fired.c.outbox_id == outbox_id)).all()
    if days:
        # Its key is free for the words that come in its place, be it in the same moment. What may
        # have arrived keeps it: that is how it is known again.
        dropped = update(outbox).where(
            outbox.c.id == outbox_id,
            outbox.c.status == "dropped",
            outbox.c.unknown_at.is_(None),
        )
        tx.execute(dropped.values(key=outbox.c.key + f":{outbox_id}"))
    for day in days:
        tx.execute(
            delete(fired).where(fired.c.rule_id == day.rule_id, fired.c.due_on == day.due_on)
        )
        # Where an earlier day waits already, as when words of two days are taken back together,
        # this one comes with it: the days after the first that were not said.
        later = rule.c.due_on.is_(None) | (rule.c.due_on > day.due_on)
        tx.execute(
            update(rule)
            .where(rule.c.id == day.rule_id, later)
            .values(due_on=day.due_on, due_at=min(now, day.at))
        )


def set_back(tx: Connection, since: datetime) -> int:
    """Undo what a clock that ran ahead did to days still to come; how many rules it was.

    `since` is where the clock was set back to. Days that were only passed over (folded, lapsed,
    of no use) fall due again on their day, as do days that were put off to a moment after it;
    what was said is not said again.
    """
    put_off = []
    for row in tx.execute(_LATER, {"since": since}):
        each = rules.rule_of(row)
        own_at = occurrence.on_day(each, row.due_on)
        if row.due_at > own_at:
            put_off.append((row.id, Due(each, row.due_on, max(since, own_at))))
    rules.advance(tx, put_off)
    rows = tx.execute(
        select(fired.c.rule_id, fired.c.due_on, fired.c.became, rule)
        .join(rule, rule.c.id == fired.c.rule_id)
        .where(fired.c.at > since)
    ).all()
    ids = set()
    for row in rows:
        each = rules.rule_of(row)
        if row.became == "said" or occurrence.on_day(each, row.due_on) <= since:
            continue
        tx.execute(
            delete(fired).where(fired.c.rule_id == row.rule_id, fired.c.due_on == row.due_on)
        )
        ids.add(row.rule_id)
    for rule_id in ids:
        each = rules.rule_of(tx.execute(select(rule).where(rule.c.id == rule_id)).one())
        rules.advance(tx, [(rule_id, rules.next_unsaid(tx, rule_id, each, since))])
    return len(ids | {rule_id for rule_id, _due in put_off})


_LATER = select(rule).where(rule.c.due_at > bindparam("since")).execution_options(yield_per=500)
