"""The venue's master level; trim and white point of zones; the colour of white emitters.

The defaults are for rows that are there already: they show as they did.
"""

from collections.abc import Sequence

import sqlalchemy as sa
from alembic import op

revision: str = "0008"
down_revision: str | None = "0007"
branch_labels: str | Sequence[str] | None = None
depends_on: str | Sequence[str] | None = None


def upgrade() -> None:
    op.add_column("channel", sa.Column("white_emitter_k", sa.Float(), nullable=True))
    op.add_column("venue", sa.Column("master_level", sa.Float(), nullable=False, server_default="1"))
    op.add_column("zone", sa.Column("trim", sa.Float(), nullable=False, server_default="1"))
    op.add_column("zone", sa.Column("white_point_k", sa.Float(), nullable=True))


def downgrade() -> None:
    # Not in batches, which make a table anew in SQLite: others refer to these.
    op.drop_column("zone", "white_point_k")
    op.drop_column("zone", "trim")
    op.drop_column("venue", "master_level")
    op.drop_column("channel", "white_emitter_k")
