"""What was written for people without being asked for, by person: a phone may be another's."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, bindparam, select, text

from bot.records.tables import fired, member, outbox, rule


@dataclass(frozen=True, slots=True)
class Unasked:
    """A message for a person that was not asked for: under which ceiling, when it goes or went."""

    ceiling: str
    kind: str
    created_at: datetime
    goes_at: datetime


_UNASKED = (
    select(
        outbox.c.id,
        outbox.c.member_id,
        outbox.c.ceiling,
        outbox.c.kind,
        outbox.c.created_at,
        outbox.c.not_before_at,
        member.c.id.label("carried_id"),
    )
    .outerjoin_from(outbox, fired, fired.c.outbox_id == outbox.c.id)
    .outerjoin(rule, rule.c.id == fired.c.rule_id)
    .outerjoin(member, (member.c.id == rule.c.member_id) & member.c.via_member_id.is_not(None))
    .where(
        outbox.c.member_id.in_(bindparam("of_phones", expanding=True)),
        outbox.c.created_at > bindparam("since"),
        outbox.c.ceiling != text("''"),
        outbox.c.status != text("'dropped'"),
    )
)


def unasked(
    tx: Connection, holder_ids: Collection[str], since: datetime
) -> dict[str, list[Unasked]]:
    """What was written under a ceiling after `since` to these members' phones, by person.

    Reminders of somebody without a phone are theirs, not those of whoever's phone carries them.
    """
    found: dict[str, dict[int, Unasked]] = {}
    for row in tx.execute(_UNASKED, {"of_phones": sorted(holder_ids), "since": since}):
        whom = found.setdefault(row.carried_id or row.member_id, {})
        whom[row.id] = Unasked(
            row.ceiling, row.kind, row.created_at, max(row.created_at, row.not_before_at)
        )
    return {person: list(each.values()) for person, each in found.items()}
