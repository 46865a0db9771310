"""The first tables."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from bot.records.columns import Moment, Serial

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:

    op.create_table(
        "entry",
        sa.Column("id", Serial, autoincrement=True, nullable=False),
        sa.Column("exchange_id", Serial, nullable=False),
        sa.Column("group_id", sa.String(length=16), nullable=False),
        sa.Column("subject_id", sa.String(length=16), nullable=True),
        sa.Column("member_id", sa.String(length=16), nullable=False),
        sa.Column("kind", sa.String(length=32), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.Column("recorded_at", Moment(), nullable=False),
        sa.Column("data", sa.JSON(), nullable=False),
        sa.Column("effect", sa.String(length=8), server_default="", nullable=False),
        sa.Column("reverts", Serial, nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_entry")),
    )
    with op.batch_alter_table("entry", schema=None) as batch_op:
        batch_op.create_index("ix_entry_group_id", ["group_id", "kind"], unique=False)
        batch_op.create_index("ix_entry_member_id", ["member_id", "exchange_id"], unique=False)
        batch_op.create_index(
            "ix_entry_reverts",
            ["reverts"],
            unique=True,
            sqlite_where=sa.text("reverts IS NOT NULL"),
            postgresql_where=sa.text("reverts IS NOT NULL"),
        )
        batch_op.create_index("ix_entry_subject_id", ["subject_id"], unique=False)

    op.create_table(
        "fired",
        sa.Column("rule_id", Serial, autoincrement=False, nullable=False),
        sa.Column("due_on", sa.Date(), nullable=False),
        sa.Column("outbox_id", Serial, nullable=True),
        sa.Column("became", sa.String(length=8), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.PrimaryKeyConstraint("rule_id", "due_on", name=op.f("pk_fired")),
    )
    with op.batch_alter_table("fired", schema=None) as batch_op:
        batch_op.create_index("ix_fired_outbox_id", ["outbox_id"], unique=False)

    op.create_table(
        "grower_group",
        sa.Column("id", sa.String(length=16), nullable=False),
        sa.Column("name", sa.Text(), server_default="", nullable=False),
        sa.Column("settings", sa.JSON(), nullable=False),
        sa.Column("created_at", Moment(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_grower_group")),
    )
    op.create_table(
        "inbox",
        sa.Column("id", Serial, autoincrement=True, nullable=False),
        sa.Column("channel", sa.String(length=32), nullable=False),
        sa.Column("outside_id", sa.String(length=128), nullable=False),
        sa.Column("address", sa.String(length=128), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("sent_at", Moment(), nullable=False),
        sa.Column("received_at", Moment(), nullable=False),
        sa.Column("status", sa.String(length=8), nullable=False),
        sa.Column("attempts", sa.Integer(), server_default="0", nullable=False),
        sa.Column("cause", sa.Text(), server_default="", nullable=False),
        sa.Column("member_id", sa.String(length=16), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_inbox")),
        sa.UniqueConstraint("channel", "outside_id", name=op.f("uq_inbox_channel")),
    )
    with op.batch_alter_table("inbox", schema=None) as batch_op:
        batch_op.create_index("ix_inbox_received_at", ["received_at"], unique=False)
        batch_op.create_index(
            "ix_inbox_waiting",
            ["channel", "address", "id"],
            unique=False,
            sqlite_where=sa.text("status = 'waiting'"),
            postgresql_where=sa.text("status = 'waiting'"),
        )

    op.create_table(
        "kept",
        sa.Column("channel", sa.String(length=32), nullable=False),
        sa.Column("name", sa.String(length=64), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("channel", "name", name=op.f("pk_kept")),
    )
    op.create_table(
        "lease",
        sa.Column("name", sa.String(length=64), nullable=False),
        sa.Column("holder", sa.String(length=32), nullable=False),
        sa.Column("until", Moment(), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_lease")),
    )
    op.create_table(
        "member",
        sa.Column("id", sa.String(length=16), nullable=False),
        sa.Column("name", sa.Text(), server_default="", nullable=False),
        sa.Column("language", sa.String(length=16), server_default="", nullable=False),
        sa.Column("zone", sa.String(length=64), server_default="UTC", nullable=False),
        sa.Column("hour", sa.String(length=5), server_default="07:00", nullable=False),
        sa.Column("country", sa.String(length=2), server_default="", nullable=False),
        sa.Column("settings", sa.JSON(), nullable=False),
        sa.Column("group_id", sa.String(length=16), server_default="", nullable=False),
        sa.Column("stopped_at", Moment(), nullable=True),
        sa.Column("created_at", Moment(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_member")),
    )
    op.create_table(
        "outbox",
        sa.Column("id", Serial, autoincrement=True, nullable=False),
        sa.Column("key", sa.String(length=96), nullable=False),
        sa.Column("channel", sa.String(length=32), nullable=False),
        sa.Column("address", sa.String(length=128), nullable=False),
        sa.Column("member_id", sa.String(length=16), nullable=False),
        sa.Column("exchange_id", Serial, nullable=True),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("about", sa.JSON(), nullable=False),
        sa.Column("priority", sa.Integer(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("buttons", sa.JSON(), nullable=False),
        sa.Column("picture", sa.LargeBinary(), nullable=True),
        sa.Column("silent", sa.Boolean(), server_default=sa.text("(false)"), nullable=False),
        sa.Column("created_at", Moment(), nullable=False),
        sa.Column("not_before_at", Moment(), nullable=False),
        sa.Column("valid_until", Moment(), nullable=True),
        sa.Column("status", sa.String(length=8), nullable=False),
        sa.Column("attempts", sa.Integer(), server_default="0", nullable=False),
        sa.Column("token", sa.String(length=16), nullable=True),
        sa.Column("leased_until", Moment(), nullable=True),
        sa.Column("sent_at", Moment(), nullable=True),
        sa.Column("outside_id", sa.String(length=128), nullable=True),
        sa.Column("cause", sa.Text(), server_default="", nullable=False),
        sa.Column("delivered", sa.Boolean(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_outbox")),
        sa.UniqueConstraint("key", name=op.f("uq_outbox_key")),
    )
    with op.batch_alter_table("outbox", schema=None) as batch_op:
        batch_op.create_index("ix_outbox_member_id", ["member_id", "created_at"], unique=False)
        batch_op.create_index("ix_outbox_outside_id", ["channel", "outside_id"], unique=False)
        batch_op.create_index(
            "ix_outbox_sending",
            ["channel", "leased_until"],
            unique=False,
            sqlite_where=sa.text("status = 'sending'"),
            postgresql_where=sa.text("status = 'sending'"),
        )
        batch_op.create_index(
            "ix_outbox_waiting",
            ["channel", "priority", "not_before_at", "id"],
            unique=False,
            sqlite_where=sa.text("status = 'waiting'"),
            postgresql_where=sa.text("status = 'waiting'"),
        )

    op.create_table(
        "pace",
        sa.Column("channel", sa.String(length=32), nullable=False),
        sa.Column("address", sa.String(length=128), nullable=False),
        sa.Column("free_at", Moment(), nullable=False),
        sa.PrimaryKeyConstraint("channel", "address", name=op.f("pk_pace")),
    )
    op.create_table(
        "question",
        sa.Column("id", Serial, autoincrement=True, nullable=False),
        sa.Column("member_id", sa.String(length=16), nullable=False),
        sa.Column("exchange_id", Serial, nullable=True),
        sa.Column("subject_ids", sa.JSON(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("asked_at", Moment(), nullable=False),
        sa.Column("expires_at", Moment(), nullable=False),
        sa.Column("closed_at", Moment(), nullable=True),
        sa.Column("closed_by", Serial, nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_question")),
    )
    with op.batch_alter_table("question", schema=None) as batch_op:
        batch_op.create_index("ix_question_member_id", ["member_id", "closed_at"], unique=False)

    op.create_table(
        "rest",
        sa.Column("member_id", sa.String(length=16), nullable=False),
        sa.Column("pages", sa.JSON(), nullable=False),
        sa.Column("said_at", Moment(), nullable=False),
        sa.PrimaryKeyConstraint("member_id", name=op.f("pk_rest")),
    )
    op.create_table(
        "rule",
        sa.Column("id", Serial, autoincrement=True, nullable=False),
        sa.Column("kind", sa.String(length=32), nullable=False),
        sa.Column("subject_id", sa.String(length=16), nullable=False),
        sa.Column("key", sa.String(length=48), nullable=False),
        sa.Column("member_id", sa.String(length=16), nullable=False),
        sa.Column("tended", sa.Boolean(), server_default=sa.text("(false)"), nullable=False),
        sa.Column("zone", sa.String(length=64), nullable=False),
        sa.Column("first_on", sa.Date(), nullable=True),
        sa.Column("at", sa.String(length=5), nullable=True),
        sa.Column("every_days", sa.Integer(), nullable=True),
        sa.Column("last_on", sa.Date(), nullable=True),
        sa.Column("instant", Moment(), nullable=True),
        sa.Column("stale", sa.String(length=8), nullable=False),
        sa.Column("lapse_hours", sa.Integer(), nullable=False),
        sa.Column("due_on", sa.Date(), nullable=True),
        sa.Column("due_at", Moment(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_rule")),
        sa.UniqueConstraint("kind", "subject_id", "key", "member_id", name=op.f("uq_rule_kind")),
    )
    with op.batch_alter_table("rule", schema=None) as batch_op:
        batch_op.create_index(
            "ix_rule_due_at",
            ["due_at"],
            unique=False,
            sqlite_where=sa.text("due_at IS NOT NULL"),
            postgresql_where=sa.text("due_at IS NOT NULL"),
        )
        batch_op.create_index("ix_rule_member_id", ["member_id", "due_at"], unique=False)
        batch_op.create_index("ix_rule_subject_id", ["subject_id"], unique=False)

    op.create_table(
        "address",
        sa.Column("id", Serial, autoincrement=True, nullable=False),
        sa.Column("channel", sa.String(length=32), nullable=False),
        sa.Column("address", sa.String(length=128), nullable=False),
        sa.Column("member_id", sa.String(length=16), nullable=False),
        sa.Column("noticeboard", sa.Boolean(), server_default=sa.text("(false)"), nullable=False),
        sa.Column("heard_at", Moment(), nullable=True),
        sa.Column("dead_at", Moment(), nullable=True),
        sa.ForeignKeyConstraint(
            ["member_id"], ["member.id"], name=op.f("fk_address_member_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_address")),
        sa.UniqueConstraint("channel", "address", name=op.f("uq_address_channel")),
    )
    with op.batch_alter_table("address", schema=None) as batch_op:
        batch_op.create_index("ix_address_member_id", ["member_id"], unique=False)

    op.create_table(
        "membership",
        sa.Column("group_id", sa.String(length=16), nullable=False),
        sa.Column("member_id", sa.String(length=16), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("joined_at", Moment(), nullable=False),
        sa.ForeignKeyConstraint(
            ["group_id"], ["grower_group.id"], name=op.f("fk_membership_group_id")
        ),
        sa.ForeignKeyConstraint(
            ["member_id"], ["member.id"], name=op.f("fk_membership_member_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("group_id", "member_id", name=op.f("pk_membership")),
    )
    with op.batch_alter_table("membership", schema=None) as batch_op:
        batch_op.create_index("ix_membership_member_id", ["member_id"], unique=False)

    op.create_table(
        "subject",
        sa.Column("id", sa.String(length=16), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("code", sa.String(length=32), nullable=False),
        sa.Column("group_id", sa.String(length=16), nullable=False),
        sa.Column("member_id", sa.String(length=16), server_default="", nullable=False),
        sa.Column("zone", sa.String(length=64), nullable=False),
        sa.Column("opened_at", Moment(), nullable=False),
        sa.Column("closed_at", Moment(), nullable=True),
        sa.Column("void", sa.Boolean(), server_default=sa.text("(false)"), nullable=False),
        sa.ForeignKeyConstraint(
            ["group_id"], ["grower_group.id"], name=op.f("fk_subject_group_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_subject")),
    )
    with op.batch_alter_table("subject", schema=None) as batch_op:
        batch_op.create_index(
            "ix_subject_group_id", ["group_id", "kind", "closed_at"], unique=False
        )


def downgrade() -> None:

    with op.batch_alter_table("subject", schema=None) as batch_op:
        batch_op.drop_index("ix_subject_group_id")

    op.drop_table("subject")
    with op.batch_alter_table("membership", schema=None) as batch_op:
        batch_op.drop_index("ix_membership_member_id")

    op.drop_table("membership")
    with op.batch_alter_table("address", schema=None) as batch_op:
        batch_op.drop_index("ix_address_member_id")

    op.drop_table("address")
    with op.batch_alter_table("rule", schema=None) as batch_op:
        batch_op.drop_index("ix_rule_subject_id")
        batch_op.drop_index("ix_rule_member_id")
        batch_op.drop_index(
            "ix_rule_due_at",
            sqlite_where=sa.text("due_at IS NOT NULL"),
            postgresql_where=sa.text("due_at IS NOT NULL"),
        )

    op.drop_table("rule")
    op.drop_table("rest")
    with op.batch_alter_table("question", schema=None) as batch_op:
        batch_op.drop_index("ix_question_member_id")

    op.drop_table("question")
    op.drop_table("pace")
    with op.batch_alter_table("outbox", schema=None) as batch_op:
        batch_op.drop_index(
            "ix_outbox_waiting",
            sqlite_where=sa.text("status = 'waiting'"),
            postgresql_where=sa.text("status = 'waiting'"),
        )
        batch_op.drop_index(
            "ix_outbox_sending",
            sqlite_where=sa.text("status = 'sending'"),
            postgresql_where=sa.text("status = 'sending'"),
        )
        batch_op.drop_index("ix_outbox_outside_id")
        batch_op.drop_index("ix_outbox_member_id")

    op.drop_table("outbox")
    op.drop_table("member")
    op.drop_table("lease")
    op.drop_table("kept")
    with op.batch_alter_table("inbox", schema=None) as batch_op:
        batch_op.drop_index(
            "ix_inbox_waiting",
            sqlite_where=sa.text("status = 'waiting'"),
            postgresql_where=sa.text("status = 'waiting'"),
        )
        batch_op.drop_index("ix_inbox_received_at")

    op.drop_table("inbox")
    op.drop_table("grower_group")
    with op.batch_alter_table("fired", schema=None) as batch_op:
        batch_op.drop_index("ix_fired_outbox_id")

    op.drop_table("fired")
    with op.batch_alter_table("entry", schema=None) as batch_op:
        batch_op.drop_index("ix_entry_subject_id")
        batch_op.drop_index(
            "ix_entry_reverts",
            sqlite_where=sa.text("reverts IS NOT NULL"),
            postgresql_where=sa.text("reverts IS NOT NULL"),
        )
        batch_op.drop_index("ix_entry_member_id")
        batch_op.drop_index("ix_entry_group_id")

    op.drop_table("entry")
