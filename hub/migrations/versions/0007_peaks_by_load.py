"""The highest amps of a supply are told by its load; the table of single nodes' peaks goes."""

from collections.abc import Sequence

import sqlalchemy as sa
from alembic import op

revision: str = "0007"
down_revision: str | None = "0006"
branch_labels: str | Sequence[str] | None = None
depends_on: str | Sequence[str] | None = None


def upgrade() -> None:
    op.drop_table("supply_peak")


def downgrade() -> None:
    op.create_table(
        "supply_peak",
        sa.Column("venue", sa.String(length=40), nullable=False),
        sa.Column("supply", sa.String(length=40), nullable=False),
        sa.Column("node", sa.String(length=40), nullable=False),
        sa.Column("day", sa.String(length=10), nullable=False),
        sa.Column("highest_a", sa.Float(), nullable=False),
        sa.PrimaryKeyConstraint("venue", "supply", "node", "day", name=op.f("pk_supply_peak")),
    )
