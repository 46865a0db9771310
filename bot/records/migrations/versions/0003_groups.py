"""What a group of several needs: invitations, wrong tries, who writes for whom."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from bot.records.columns import Moment, Serial

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

WRITTEN_FOR = sa.text("by_member_id IS NOT NULL")


def upgrade() -> None:
    op.create_table(
        "invite",
        sa.Column("code", sa.String(length=8), nullable=False),
        sa.Column("group_id", sa.String(length=16), nullable=False),
        sa.Column("member_id", sa.String(length=16), nullable=False),
        sa.Column("name", sa.Text(), server_default="", nullable=False),
        sa.Column("made_at", Moment(), nullable=False),
        sa.Column("expires_at", Moment(), nullable=False),
        sa.Column("uses_left", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["group_id"], ["grower_group.id"], name=op.f("fk_invite_group_id")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_invite")),
    )
    op.create_index("ix_invite_group_id", "invite", ["group_id"])
    op.create_table(
        "attempt",
        sa.Column("id", Serial, autoincrement=True, nullable=False),
        sa.Column("what", sa.String(length=16), nullable=False),
        sa.Column("who", sa.String(length=64), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_attempt")),
    )
    op.create_index("ix_attempt_what", "attempt", ["what", "who", "at"])
    with op.batch_alter_table("member", schema=None) as batch_op:
        batch_op.add_column(sa.Column("via_member_id", sa.String(length=16), nullable=True))
    with op.batch_alter_table("entry", schema=None) as batch_op:
        batch_op.add_column(sa.Column("by_member_id", sa.String(length=16), nullable=True))
    op.create_index(
        "ix_entry_by_member_id",
        "entry",
        ["by_member_id", "exchange_id"],
        sqlite_where=WRITTEN_FOR,
        postgresql_where=WRITTEN_FOR,
    )


def downgrade() -> None:
    op.drop_index("ix_entry_by_member_id", "entry")
    with op.batch_alter_table("entry", schema=None) as batch_op:
        batch_op.drop_column("by_member_id")
    with op.batch_alter_table("member", schema=None) as batch_op:
        batch_op.drop_column("via_member_id")
    op.drop_index("ix_attempt_what", "attempt")
    op.drop_table("attempt")
    op.drop_index("ix_invite_group_id", "invite")
    op.drop_table("invite")
