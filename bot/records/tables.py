"""The tables. Moments are UTC; wall times and days belong to the zone named beside them."""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    JSON,
    Boolean,
    Column,
    Date,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
    text,
)

from bot.records.columns import Moment, Serial

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(column_0_label)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def _serial() -> Column[Any]:
    return Column("id", Serial, primary_key=True, autoincrement=True)


member = Table(
    "member",
    metadata,
    Column("id", String(16), primary_key=True),
    Column("name", Text, nullable=False, server_default=""),
    Column("language", String(16), nullable=False, server_default=""),
    Column("zone", String(64), nullable=False, server_default="UTC"),
    Column("hour", String(5), nullable=False, server_default="07:00"),
    Column("country", String(2), nullable=False, server_default=""),
    Column("settings", JSON, nullable=False),
    Column("group_id", String(16), nullable=False, server_default=""),
    Column("via_member_id", String(16)),
    Column("stopped_at", Moment),
    Column("created_at", Moment, nullable=False),
)

address = Table(
    "address",
    metadata,
    _serial(),
    Column("channel", String(32), nullable=False),
    Column("address", String(128), nullable=False),
    Column("member_id", String(16), ForeignKey("member.id", ondelete="CASCADE"), nullable=False),
    Column("noticeboard", Boolean, nullable=False, server_default=text("false")),
    Column("heard_at", Moment),
    Column("dead_at", Moment),
    UniqueConstraint("channel", "address"),
    Index("ix_address_member_id", "member_id"),
)

grower_group = Table(
    "grower_group",
    metadata,
    Column("id", String(16), primary_key=True),
    Column("name", Text, nullable=False, server_default=""),
    Column("settings", JSON, nullable=False),
    Column("created_at", Moment, nullable=False),
)

membership = Table(
    "membership",
    metadata,
    Column("group_id", String(16), ForeignKey("grower_group.id"), primary_key=True),
    Column("member_id", String(16), ForeignKey("member.id", ondelete="CASCADE"), primary_key=True),
    Column("role", String(16), nullable=False),
    Column("joined_at", Moment, nullable=False),
    Index("ix_membership_member_id", "member_id"),
)

invite = Table(
    "invite",
    metadata,
    Column("code", String(8), primary_key=True),
    Column("group_id", String(16), ForeignKey("grower_group.id"), nullable=False),
    Column("member_id", String(16), nullable=False),
    Column("name", Text, nullable=False, server_default=""),
    Column("made_at", Moment, nullable=False),
    Column("expires_at", Moment, nullable=False),
    Column("uses_left", Integer, nullable=False),
    Index("ix_invite_group_id", "group_id"),
)

attempt = Table(
    "attempt",
    metadata,
    _serial(),
    Column("what", String(16), nullable=False),
    Column("who", String(64), nullable=False),
    Column("at", Moment, nullable=False),
    Index("ix_attempt_what", "what", "who", "at"),
)

subject = Table(
    "subject",
    metadata,
    Column("id", String(16), primary_key=True),
    Column("kind", String(16), nullable=False),
    Column("code", String(32), nullable=False),
    Column("group_id", String(16), ForeignKey("grower_group.id"), nullable=False),
    Column("member_id", String(16), nullable=False, server_default=""),
    Column("zone", String(64), nullable=False),
    Column("opened_at", Moment, nullable=False),
    Column("closed_at", Moment),
    Column("void", Boolean, nullable=False, server_default=text("false")),
    Index("ix_subject_group_id", "group_id", "kind", "closed_at"),
)

entry = Table(
    "entry",
    metadata,
    _serial(),
    Column("exchange_id", Serial, nullable=False),
    Column("group_id", String(16), nullable=False),
    Column("subject_id", String(16)),
    Column("member_id", String(16), nullable=False),
    Column("kind", String(32), nullable=False),
    Column("at", Moment, nullable=False),
    Column("recorded_at", Moment, nullable=False),
    Column("data", JSON, nullable=False),
    Column("effect", String(8), nullable=False, server_default=""),
    Column("reverts", Serial),
    Column("by_member_id", String(16)),
    Index("ix_entry_subject_id", "subject_id"),
    Index("ix_entry_member_id", "member_id", "exchange_id"),
    Index("ix_entry_group_id", "group_id", "kind"),
    Index(
        "ix_entry_by_member_id",
        "by_member_id",
        "exchange_id",
        sqlite_where=text("by_member_id IS NOT NULL"),
        postgresql_where=text("by_member_id IS NOT NULL"),
    ),
    Index(
        "ix_entry_reverts",
        "reverts",
        unique=True,
        sqlite_where=text("reverts IS NOT NULL"),
        postgresql_where=text("reverts IS NOT NULL"),
    ),
)

rule = Table(
    "rule",
    metadata,
    _serial(),
    Column("kind", String(32), nullable=False),
    Column("subject_id", String(16), nullable=False),
    Column("key", String(48), nullable=False),
    Column("member_id", String(16), nullable=False),
    Column("tended", Boolean, nullable=False, server_default=text("false")),
    Column("zone", String(64), nullable=False),
    Column("first_on", Date),
    Column("at", String(5)),
    Column("every_days", Integer),
    Column("last_on", Date),
    Column("instant", Moment),
    Column("stale", String(8), nullable=False),
    Column("lapse_hours", Integer, nullable=False),
    Column("due_on", Date),
    Column("due_at", Moment),
    UniqueConstraint("kind", "subject_id", "key", "member_id"),
    Index(
        "ix_rule_due_at",
        "due_at",
        sqlite_where=text("due_at IS NOT NULL"),
        postgresql_where=text("due_at IS NOT NULL"),
    ),
    Index("ix_rule_member_id", "member_id", "due_at"),
    Index("ix_rule_subject_id", "subject_id"),
)

fired = Table(
    "fired",
    metadata,
    Column("rule_id", Serial, primary_key=True, autoincrement=False),
    Column("due_on", Date, primary_key=True),
    Column("outbox_id", Serial),
    Column("became", String(8), nullable=False),
    Column("at", Moment, nullable=False),
    Index("ix_fired_outbox_id", "outbox_id"),
)

inbox = Table(
    "inbox",
    metadata,
    _serial(),
    Column("channel", String(32), nullable=False),
    Column("outside_id", String(128), nullable=False),
    Column("address", String(128), nullable=False),
    Column("body", JSON, nullable=False),
    Column("sent_at", Moment, nullable=False),
    Column("received_at", Moment, nullable=False),
    Column("status", String(8), nullable=False),
    Column("attempts", Integer, nullable=False, server_default="0"),
    Column("cause", Text, nullable=False, server_default=""),
    Column("member_id", String(16)),
    UniqueConstraint("channel", "outside_id"),
    Index(
        "ix_inbox_waiting",
        "channel",
        "address",
        "id",
        sqlite_where=text("status = 'waiting'"),
        postgresql_where=text("status = 'waiting'"),
    ),
    Index(
        "ix_inbox_next",
        "id",
        sqlite_where=text("status = 'waiting'"),
        postgresql_where=text("status = 'waiting'"),
    ),
    Index("ix_inbox_received_at", "received_at"),
)

outbox = Table(
    "outbox",
    metadata,
    _serial(),
    Column("key", String(96), nullable=False, unique=True),
    Column("channel", String(32), nullable=False),
    Column("address", String(128), nullable=False),
    Column("member_id", String(16), nullable=False),
    Column("exchange_id", Serial),
    Column("kind", String(16), nullable=False),
    Column("ceiling", String(8), nullable=False, server_default=""),
    Column("repeat", String(8), nullable=False, server_default=""),
    Column("about", JSON, nullable=False),
    Column("priority", Integer, nullable=False),
    Column("text", Text, nullable=False),
    Column("buttons", JSON, nullable=False),
    Column("picture", LargeBinary),
    Column("silent", Boolean, nullable=False, server_default=text("false")),
    Column("created_at", Moment, nullable=False),
    Column("not_before_at", Moment, nullable=False),
    Column("valid_until", Moment),
    Column("status", String(8), nullable=False),
    Column("attempts", Integer, nullable=False, server_default="0"),
    Column("token", String(16)),
    Column("leased_until", Moment),
    Column("sent_at", Moment),
    Column("outside_id", String(128)),
    Column("cause", Text, nullable=False, server_default=""),
    Column("delivered", Boolean),
    Column("unknown_at", Moment),
    Index(
        "ix_outbox_waiting",
        "channel",
        "priority",
        "not_before_at",
        "id",
        sqlite_where=text("status = 'waiting'"),
        postgresql_where=text("status = 'waiting'"),
    ),
    Index(
        "ix_outbox_sending",
        "channel",
        "leased_until",
        sqlite_where=text("status = 'sending'"),
        postgresql_where=text("status = 'sending'"),
    ),
    Index("ix_outbox_outside_id", "channel", "outside_id"),
    Index("ix_outbox_member_id", "member_id", "created_at"),
    Index("ix_outbox_exchange_id", "exchange_id"),
    Index("ix_outbox_created_at", "created_at"),
    Index(
        "ix_outbox_unknown_at",
        "unknown_at",
        sqlite_where=text("unknown_at IS NOT NULL"),
        postgresql_where=text("unknown_at IS NOT NULL"),
    ),
)

question = Table(
    "question",
    metadata,
    _serial(),
    Column("member_id", String(16), nullable=False),
    Column("exchange_id", Serial),
    Column("subject_ids", JSON, nullable=False),
    Column("body", JSON, nullable=False),
    Column("asked_at", Moment, nullable=False),
    Column("expires_at", Moment, nullable=False),
    Column("closed_at", Moment),
    Column("closed_by", Serial),
    Index("ix_question_member_id", "member_id", "closed_at"),
    Index("ix_question_exchange_id", "exchange_id"),
    Index("ix_question_closed_by", "closed_by"),
)

rest = Table(
    "rest",
    metadata,
    Column("member_id", String(16), primary_key=True),
    Column("pages", JSON, nullable=False),
    Column("said_at", Moment, nullable=False),
)

kept = Table(
    "kept",
    metadata,
    Column("channel", String(32), primary_key=True),
    Column("name", String(64), primary_key=True),
    Column("value", Text, nullable=False),
)

lease = Table(
    "lease",
    metadata,
    Column("name", String(64), primary_key=True),
    Column("holder", String(32), nullable=False),
    Column("until", Moment, nullable=False),
)

tally = Table(
    "tally",
    metadata,
    Column("name", String(64), primary_key=True),
    Column("n", Serial, nullable=False),
)

pace = Table(
    "pace",
    metadata,
    Column("channel", String(32), primary_key=True),
    Column("address", String(128), primary_key=True),
    Column("free_at", Moment, nullable=False),
)
