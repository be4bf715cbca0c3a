"""Energy by supply, node and day, with the counters up to which it is counted; load of each supply by day."""

from collections.abc import Sequence

import sqlalchemy as sa
from alembic import op

revision: str = "0004"
down_revision: str | None = "0003"
branch_labels: str | Sequence[str] | None = None
depends_on: str | Sequence[str] | None = None


def upgrade() -> None:
    op.create_table(
        "charge_counter",
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("node", sa.String(40), nullable=False),
        sa.Column("supply", sa.String(40), nullable=False),
        sa.Column("boot_id", sa.String(32), nullable=False),
        sa.Column("charge_ah", sa.Float(), nullable=False),
        sa.Column("uptime_s", sa.Float(), nullable=False),
        sa.Column("heard_at_s", sa.Float(), nullable=False),
        sa.Column("ended_boots", sa.String(264), nullable=False),
        sa.PrimaryKeyConstraint("venue", "node", "supply", name=op.f("pk_charge_counter")),
    )
    op.create_table(
        "energy_day",
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("day", sa.String(10), nullable=False),
        sa.Column("supply", sa.String(40), nullable=False),
        sa.Column("node", sa.String(40), nullable=False),
        sa.Column("amp_h", sa.Float(), nullable=False),
        sa.Column("watt_h", sa.Float(), nullable=False),
        sa.Column("hours", sa.Float(), nullable=False),
        sa.PrimaryKeyConstraint("venue", "day", "supply", "node", name=op.f("pk_energy_day")),
    )
    op.create_table(
        "load_day",
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("supply", sa.String(40), nullable=False),
        sa.Column("day", sa.String(10), nullable=False),
        sa.Column("rated_ma", sa.BigInteger(), nullable=False),
        sa.Column("seconds", sa.LargeBinary(), nullable=False),
        sa.Column("highest_a", sa.Float(), nullable=False),
        sa.PrimaryKeyConstraint("venue", "supply", "day", "rated_ma", name=op.f("pk_load_day")),
    )


def downgrade() -> None:
    op.drop_table("load_day")
    op.drop_table("energy_day")
    op.drop_table("charge_counter")
