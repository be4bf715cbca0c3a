"""Place, time zone, timetable and cue lists of a venue; tags of nodes; approval of rollouts.

The defaults are for rows that are there already.
"""

from collections.abc import Sequence

import sqlalchemy as sa
from alembic import op

revision: str = "0011"
down_revision: str | None = "0010"
branch_labels: str | Sequence[str] | None = None
depends_on: str | Sequence[str] | None = None


def upgrade() -> None:
    op.add_column("node", sa.Column("tags", sa.Text(), nullable=False, server_default="[]"))
    op.add_column("venue", sa.Column("place", sa.String(120), nullable=True))
    op.add_column("venue", sa.Column("time_zone", sa.String(64), nullable=False, server_default="UTC"))
    op.add_column("venue", sa.Column("approves_rollouts", sa.Boolean(), nullable=False, server_default=sa.false()))
    op.add_column("venue", sa.Column("timetable", sa.Text(), nullable=False, server_default="[]"))
    op.add_column("venue", sa.Column("cue_lists", sa.Text(), nullable=False, server_default="[]"))


def downgrade() -> None:
    # Not in batches, which make a table anew in SQLite: others refer to these.
    op.drop_column("venue", "cue_lists")
    op.drop_column("venue", "timetable")
    op.drop_column("venue", "approves_rollouts")
    op.drop_column("venue", "time_zone")
    op.drop_column("venue", "place")
    op.drop_column("node", "tags")
