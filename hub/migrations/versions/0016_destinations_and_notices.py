"""Notification: destinations, notices to them, and up to where changes of findings were read."""

from collections.abc import Sequence

import sqlalchemy as sa
from alembic import op

revision: str = "0016"
down_revision: str | None = "0015"
branch_labels: str | Sequence[str] | None = None
depends_on: str | Sequence[str] | None = None


def upgrade() -> None:
    op.create_table(
        "notify_cursor",
        sa.Column("reader", sa.String(20), nullable=False),
        sa.Column("change", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("reader", name=op.f("pk_notify_cursor")),
    )
    op.create_table(
        "notify_destination",
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("title", sa.String(80), nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("url", sa.Text(), nullable=False),
        sa.Column("shown_address", sa.String(120), nullable=False),
        sa.Column("signing_key", sa.String(100), nullable=True),
        sa.Column("routes", sa.Text(), nullable=False),
        sa.Column("digest_at", sa.String(5), nullable=True),
        sa.Column("digested_day", sa.String(10), nullable=True),
        sa.Column("made_at_ms", sa.BigInteger(), nullable=False),
        sa.Column("delivered_at_ms", sa.BigInteger(), nullable=True),
        sa.Column("failed_at_ms", sa.BigInteger(), nullable=True),
        sa.Column("last_error", sa.String(400), nullable=True),
        sa.PrimaryKeyConstraint("venue", "id", name=op.f("pk_notify_destination")),
    )
    op.create_table(
        "notify_notice",
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("destination", sa.String(40), nullable=False),
        sa.Column("about", sa.String(20), nullable=False),
        sa.Column("finding", sa.BigInteger(), nullable=True),
        sa.Column("key", sa.String(32), nullable=False),
        sa.Column("state", sa.String(20), nullable=False),
        sa.Column("subject", sa.String(200), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("made_at_ms", sa.BigInteger(), nullable=False),
        sa.Column("due_at_ms", sa.BigInteger(), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("tried_at_ms", sa.BigInteger(), nullable=True),
        sa.Column("last_error", sa.String(400), nullable=True),
        sa.Column("settled_at_ms", sa.BigInteger(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_notify_notice")),
        sa.UniqueConstraint(
            "venue", "destination", "about", "finding", name=op.f("uq_notify_notice_venue_destination_about_finding")
        ),
    )
    with op.batch_alter_table("notify_notice", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_notify_notice_finding"), ["finding"], unique=False)
        batch_op.create_index("ix_notify_notice_state_due_at_ms", ["state", "due_at_ms"], unique=False)


def downgrade() -> None:
    with op.batch_alter_table("notify_notice", schema=None) as batch_op:
        batch_op.drop_index("ix_notify_notice_state_due_at_ms")
        batch_op.drop_index(batch_op.f("ix_notify_notice_finding"))

    op.drop_table("notify_notice")
    op.drop_table("notify_destination")
    op.drop_table("notify_cursor")
