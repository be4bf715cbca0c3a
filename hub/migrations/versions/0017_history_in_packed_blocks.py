"""History in packed blocks, by the minute and by the hour, in the place of a day's samples, which are let go."""

from collections.abc import Sequence

import sqlalchemy as sa
from alembic import op

revision: str = "0017"
down_revision: str | None = "0016"
branch_labels: str | Sequence[str] | None = None
depends_on: str | Sequence[str] | None = None


def upgrade() -> None:
    op.create_table(
        "history_subject",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("kind", sa.String(10), nullable=False),
        sa.Column("name", sa.String(40), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_history_subject")),
        sa.UniqueConstraint("venue", "kind", "name", name=op.f("uq_history_subject_venue_kind_name")),
    )
    op.create_table(
        "history_journal",
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("shard", sa.Integer(), nullable=False),
        sa.Column("hour", sa.Integer(), nullable=False),
        sa.Column("samples", sa.Integer(), nullable=False),
        sa.Column("payload", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_history_journal")),
    )
    op.create_index("ix_history_journal_shard_hour", "history_journal", ["shard", "hour"])
    op.create_table(
        "history_block",
        sa.Column("subject", sa.Integer(), nullable=False),
        sa.Column("level", sa.Integer(), nullable=False),
        sa.Column("block", sa.Integer(), nullable=False),
        sa.Column("payload", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("subject", "level", "block", name=op.f("pk_history_block")),
    )
    op.create_index("ix_history_block_level_block", "history_block", ["level", "block"])
    op.drop_index("ix_telemetry_sample_heard_at_ms", "telemetry_sample")
    op.drop_table("telemetry_sample")


def downgrade() -> None:
    op.create_table(
        "telemetry_sample",
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("node", sa.String(40), nullable=False),
        sa.Column("heard_at_ms", sa.BigInteger(), nullable=False),
        sa.Column("revision", sa.BigInteger(), nullable=True),
        sa.Column("frame_rate_hz", sa.Float(), nullable=False),
        sa.Column("late_frames", sa.BigInteger(), nullable=False),
        sa.Column("render_ms", sa.Float(), nullable=False),
        sa.Column("amps", sa.Float(), nullable=False),
        sa.Column("limiter_scale", sa.Float(), nullable=False),
        sa.Column("temperature_c", sa.Float(), nullable=True),
        sa.Column("clock_offset_ms", sa.Float(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_telemetry_sample"),
    )
    op.create_index("ix_telemetry_sample_heard_at_ms", "telemetry_sample", ["heard_at_ms"])
    op.drop_table("history_block")
    op.drop_table("history_journal")
    op.drop_table("history_subject")
