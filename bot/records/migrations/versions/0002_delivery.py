"""What the courier and an operator need: repeats, ceilings, what became unknown, counters."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from bot.records.columns import Moment, Serial

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

WAITING = sa.text("status = 'waiting'")
UNKNOWN = sa.text("unknown_at IS NOT NULL")


def upgrade() -> None:
    op.create_table(
        "tally",
        sa.Column("name", sa.String(length=64), nullable=False),
        sa.Column("n", Serial, nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_tally")),
    )
    with op.batch_alter_table("outbox", schema=None) as batch_op:
        batch_op.add_column(
            sa.Column("ceiling", sa.String(length=8), server_default="", nullable=False)
        )
        batch_op.add_column(
            sa.Column("repeat", sa.String(length=8), server_default="", nullable=False)
        )
        batch_op.add_column(sa.Column("unknown_at", Moment(), nullable=True))
    op.create_index("ix_outbox_exchange_id", "outbox", ["exchange_id"])
    op.create_index("ix_outbox_created_at", "outbox", ["created_at"])
    op.create_index(
        "ix_outbox_unknown_at",
        "outbox",
        ["unknown_at"],
        sqlite_where=UNKNOWN,
        postgresql_where=UNKNOWN,
    )
    op.create_index(
        "ix_inbox_next", "inbox", ["id"], sqlite_where=WAITING, postgresql_where=WAITING
    )
    op.create_index("ix_question_exchange_id", "question", ["exchange_id"])
    op.create_index("ix_question_closed_by", "question", ["closed_by"])


def downgrade() -> None:
    op.drop_index("ix_question_closed_by", "question")
    op.drop_index("ix_question_exchange_id", "question")
    op.drop_index("ix_inbox_next", "inbox")
    op.drop_index("ix_outbox_unknown_at", "outbox")
    op.drop_index("ix_outbox_created_at", "outbox")
    op.drop_index("ix_outbox_exchange_id", "outbox")
    with op.batch_alter_table("outbox", schema=None) as batch_op:
        batch_op.drop_column("unknown_at")
        batch_op.drop_column("repeat")
        batch_op.drop_column("ceiling")
    op.drop_table("tally")
