"""Guided fault finding: each search for a fault with its answers."""

from collections.abc import Sequence

import sqlalchemy as sa
from alembic import op

revision: str = "0018"
down_revision: str | None = "0017"
branch_labels: str | Sequence[str] | None = None
depends_on: str | Sequence[str] | None = None


def upgrade() -> None:
    op.create_table(
        "fault_finding",
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer, "sqlite"), nullable=False),
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("node", sa.String(40), nullable=False),
        sa.Column("channel", sa.Integer(), nullable=True),
        sa.Column("symptom", sa.String(40), nullable=True),
        sa.Column("step", sa.String(60), nullable=False),
        sa.Column("steps", sa.Text(), nullable=False),
        sa.Column("diagnosis", sa.Text(), nullable=True),
        sa.Column("shown_at_ms", sa.BigInteger(), nullable=True),
        sa.Column("not_shown", sa.String(400), nullable=True),
        sa.Column("begun_at_ms", sa.BigInteger(), nullable=False),
        sa.Column("begun_by", sa.String(80), nullable=True),
        sa.Column("ended_at_ms", sa.BigInteger(), nullable=True),
        sa.Column("ended_by", sa.String(80), nullable=True),
        sa.Column("mended", sa.Boolean(), nullable=True),
        sa.Column("note", sa.String(400), nullable=True),
        sa.Column("changes", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_fault_finding"),
    )
    op.create_index("ix_fault_finding_venue", "fault_finding", ["venue"])


def downgrade() -> None:
    op.drop_table("fault_finding")
