"""Output resistance, efficiency and sharing of supplies; gauges, fuses, cuts and copper of runs; the venue's tariff.

The defaults are for rows that are there already: what the contracts say of a venue that does not state them.
"""

from collections.abc import Sequence

import sqlalchemy as sa
from alembic import op

revision: str = "0003"
down_revision: str | None = "0002"
branch_labels: str | Sequence[str] | None = None
depends_on: str | Sequence[str] | None = None


def upgrade() -> None:
    with op.batch_alter_table("channel", schema=None) as batch_op:
        batch_op.add_column(sa.Column("loop_ohm_per_m", sa.Float(), nullable=True))
        batch_op.add_column(sa.Column("positive_cut_before", sa.Text(), nullable=False, server_default="[]"))

    with op.batch_alter_table("feed", schema=None) as batch_op:
        batch_op.add_column(sa.Column("wire_awg", sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column("conductor_c", sa.Float(), nullable=False, server_default="30"))
        batch_op.add_column(sa.Column("fuse_a", sa.Float(), nullable=True))
        batch_op.alter_column("wire_mm2", existing_type=sa.Float(), nullable=True)

    with op.batch_alter_table("supply", schema=None) as batch_op:
        batch_op.add_column(sa.Column("output_ohm", sa.Float(), nullable=False, server_default="0"))
        batch_op.add_column(sa.Column("efficiency", sa.Float(), nullable=False, server_default="0.85"))
        batch_op.add_column(sa.Column("sharing", sa.String(16), nullable=False, server_default="fixed"))

    with op.batch_alter_table("venue", schema=None) as batch_op:
        batch_op.add_column(sa.Column("tariff", sa.String(80), nullable=True))


def downgrade() -> None:
    with op.batch_alter_table("venue", schema=None) as batch_op:
        batch_op.drop_column("tariff")

    with op.batch_alter_table("supply", schema=None) as batch_op:
        batch_op.drop_column("sharing")
        batch_op.drop_column("efficiency")
        batch_op.drop_column("output_ohm")

    # What only a gauge says has no place in the older table; 1 mm² is the size nearest to the usual 18.
    op.execute("UPDATE feed SET wire_mm2 = 1.0 WHERE wire_mm2 IS NULL")
    with op.batch_alter_table("feed", schema=None) as batch_op:
        batch_op.alter_column("wire_mm2", existing_type=sa.Float(), nullable=False)
        batch_op.drop_column("fuse_a")
        batch_op.drop_column("conductor_c")
        batch_op.drop_column("wire_awg")

    with op.batch_alter_table("channel", schema=None) as batch_op:
        batch_op.drop_column("positive_cut_before")
        batch_op.drop_column("loop_ohm_per_m")
