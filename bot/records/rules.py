"""Due rules: wanted ones reconciled with kept ones, due ones taken, each local day at most once."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from sqlalchemy import Connection, Row, bindparam, insert, select, update

from bot.facts import Due, Rule
from bot.records import occurrence
from bot.records.tables import fired, rule


@dataclass(frozen=True, slots=True)
class Waiting:
    """A rule that is due: for which of its days, since when, and which later ones were said."""

    rule_id: int
    rule: Rule
    due_on: date
    due_at: datetime
    done: frozenset[date]


@dataclass(frozen=True, slots=True)
class Taken:
    """One rule's due day, to be said; older days folded into it, and when it falls due next."""

    rule_id: int
    due: Due
    folded: tuple[Due, ...]
    lapsed: bool
    following: Due | None
    stood_for: bool = False
    """A later day of the rule was said already, as where words were overtaken over midnight."""


_KEPT = (
    select(rule)
    .where(rule.c.subject_id == bindparam("of_subject"))
    .order_by(rule.c.id)
    .with_for_update()
)


def reconcile(
    tx: Connection, subject_id: str, wanted: Sequence[Rule], tender_id: str, now: datetime
) -> None:
    """Make the kept rules of a subject the wanted ones; a day that was said is not said again."""
    kept = {
        (row.kind, row.key, row.member_id): row
        for row in tx.execute(_KEPT, {"of_subject": subject_id})
    }
    for each in wanted:
        owner = each.member_id or tender_id
        row = kept.pop((each.kind, each.key, owner), None)
        values = _columns(each)
        if row is not None and all(getattr(row, name) == value for name, value in values.items()):
            if row.due_at is None and (due := next_unsaid(tx, row.id, each, now)) is not None:
                advance(tx, [(row.id, due)])  # it was not wanted for a while, as a turn given away
            continue
        if row is None:
            due = occurrence.after(each, now)
            tx.execute(
                insert(rule).values(
                    kind=each.kind,
                    subject_id=subject_id,
                    key=each.key,
                    member_id=owner,
                    tended=each.member_id is None,
                    due_on=due.due_on if due else None,
                    due_at=due.due_at if due else None,
                    **values,
                )
            )
        else:
            tx.execute(update(rule).where(rule.c.id == row.id).values(**values))
            due = _still(row, each, now) or next_unsaid(tx, row.id, each, now)
            advance(tx, [(row.id, due)])
    if kept:
        gone = [row.id for row in kept.values()]
        tx.execute(update(rule).where(rule.c.id.in_(gone)).values(due_on=None, due_at=None))


_FIRST_DUE = (
    select(rule.c.member_id)
    .where(rule.c.due_at <= bindparam("at"))
    .order_by(rule.c.due_at)
    .limit(bindparam("most"))
)


def owners_due(tx: Connection, now: datetime, limit: int) -> list[str]:
    """Members with something due at `now`, the longest waiting first."""
    with tx.execute(_FIRST_DUE, {"at": now, "most": 8 * limit}) as rows:
        return list(rows.scalars().unique().fetchmany(limit))


_DUE = (
    select(rule)
    .where(
        rule.c.member_id.in_(bindparam("of_members", expanding=True)),
        rule.c.due_at <= bindparam("until"),
    )
    .order_by(rule.c.due_at, rule.c.id)
    .with_for_update()
)


def waiting(tx: Connection, member_ids: Sequence[str], until: datetime) -> dict[str, list[Waiting]]:
    """Everything due for these members up to `until`, by member; held until committed."""
    rows = tx.execute(_DUE, {"of_members": list(member_ids), "until": until}).all()
    found: dict[str, list[Waiting]] = {}
    if not rows:
        return found
    done = _done(tx, [row.id for row in rows], min(row.due_on for row in rows))
    for row in rows:
        days = frozenset(done.get(row.id, ()))
        each = Waiting(row.id, rule_of(row), row.due_on, row.due_at, days)
        found.setdefault(row.member_id, []).append(each)
    return found


def postpone(
    tx: Connection, member_id: str, until: datetime, to: datetime, kinds: Collection[str]
) -> int:
    """What is due for one member up to `until` waits until `to`; it keeps its local day."""
    return tx.execute(
        update(rule)
        .where(
            rule.c.member_id == member_id, rule.c.due_at <= until, rule.c.kind.in_(sorted(kinds))
        )
        .values(due_at=to)
    ).rowcount


def take(found: Iterable[Waiting], now: datetime, until: datetime) -> list[Taken]:
    """The day of each that is to be said; all of them are due by `until`.

    Missed days of a rule fold into its newest; one that is too old to be of use has lapsed.
    """
    taken: list[Taken] = []
    for each in found:
        # A postponed day is late since it was to be said, and is asked about as its own day.
        first = Due(each.rule, each.due_on, occurrence.on_day(each.rule, each.due_on))
        later = occurrence.within(each.rule, first.due_at, until)
        missed = [first, *(due for due in later if due.due_on not in each.done)]
        newest = missed[-1]
        since = max(each.due_at, first.due_at) if newest is first else newest.due_at
        too_late = now - since > timedelta(hours=each.rule.lapse_hours)
        taken.append(
            Taken(
                each.rule_id,
                newest,
                tuple(missed[:-1]),
                lapsed=each.rule.stale != "always" and too_late,
                following=_unsaid(each.rule, max(newest.due_at, now), each.done),
                stood_for=any(day > newest.due_on for day in each.done),
            )
        )
    return taken


def settle(tx: Connection, ended: Iterable[tuple[Taken, str, int | None]], now: datetime) -> None:
    """Write what became of taken days (and in which outbox row), and advance their rules."""
    days, advanced = [], []
    for taken, became, outbox_id in ended:
        late = "folded" if taken.stood_for else "lapsed"
        then = late if taken.lapsed and became in {"said", "moot"} else became
        marks = [*((older, "folded", None) for older in taken.folded), (taken.due, then, outbox_id)]
        days += [
            {
                "rule_id": taken.rule_id,
                "due_on": due.due_on,
                "became": mark,
                "outbox_id": letter if mark == "said" else None,
                "at": now,
            }
            for due, mark, letter in marks
        ]
        advanced.append((taken.rule_id, taken.following))
    if days:
        tx.execute(_FIRED, days)
        advance(tx, advanced)


def next_due(tx: Connection) -> datetime | None:
    """When the next rule falls due."""
    return tx.execute(_NEXT).scalar()


_NEXT = select(rule.c.due_at).where(rule.c.due_at.is_not(None)).order_by(rule.c.due_at).limit(1)


def _still(row: Row[Any], each: Rule, now: datetime) -> Due | None:
    """The day that waits already, where another hour or zone has just put it into the past.

    Somebody who moves east past their hour still gets that day's reminder, at once.
    """
    if row.due_on is None:
        return None
    at = occurrence.on_day(each, row.due_on)
    if at > now:
        return None
    days = occurrence.within(each, at - timedelta(microseconds=1), at)
    return next((due for due in days if due.due_on == row.due_on), None)


def _done(tx: Connection, rule_ids: Collection[int], since: date) -> dict[int, set[date]]:
    """Which days of the rules were said or passed over, of those that may still come."""
    # Two days: no zone is further from another.
    wanted = {"of_rules": list(rule_ids), "since": since - timedelta(days=2)}
    found: dict[int, set[date]] = {}
    for rule_id, due_on in tx.execute(_DONE, wanted):
        found.setdefault(rule_id, set()).add(due_on)
    return found


_DONE = select(fired.c.rule_id, fired.c.due_on).where(
    fired.c.rule_id.in_(bindparam("of_rules", expanding=True)),
    fired.c.due_on >= bindparam("since"),
)


def _unsaid(each: Rule, moment: datetime, done: Collection[date]) -> Due | None:
    due = occurrence.after(each, moment)
    while due is not None and due.due_on in done:
        due = occurrence.after(each, due.due_at)
    return due


def next_unsaid(tx: Connection, rule_id: int, each: Rule, moment: datetime) -> Due | None:
    """The first day after `moment` of which nothing was said and that was not passed over."""
    return _unsaid(each, moment, _done(tx, [rule_id], moment.date()).get(rule_id, ()))


_ADVANCE = (
    update(rule)
    .where(rule.c.id == bindparam("of_id"))
    .values(due_on=bindparam("on"), due_at=bindparam("at_moment"))
)
_FIRED = insert(fired)


def advance(tx: Connection, following: Sequence[tuple[int, Due | None]]) -> None:
    """Each of these rules falls due next then, or no more."""
    rows = [
        {
            "of_id": rule_id,
            "on": due.due_on if due else None,
            "at_moment": due.due_at if due else None,
        }
        for rule_id, due in following
    ]
    if rows:
        tx.execute(_ADVANCE, rows if len(rows) > 1 else rows[0])


def _columns(each: Rule) -> dict[str, Any]:
    return {
        "zone": each.zone,
        "first_on": each.first_on,
        "at": each.at.strftime("%H:%M") if each.at else None,
        "every_days": each.every_days,
        "last_on": each.last_on,
        "instant": each.instant,
        "stale": each.stale,
        "lapse_hours": each.lapse_hours,
    }


def rule_of(row: Row[Any]) -> Rule:
    """The rule of a row."""
    return Rule(
        kind=row.kind,
        subject_id=row.subject_id,
        key=row.key,
        member_id=row.member_id,
        zone=row.zone,
        first_on=row.first_on,
        at=time.fromisoformat(row.at) if row.at else None,
        every_days=row.every_days,
        last_on=row.last_on,
        instant=row.instant,
        stale=row.stale,
        lapse_hours=row.lapse_hours,
    )
