"""Findings of clocks: skewed, untrusted, apart from the hub's."""

from collections.abc import Sequence

import sqlalchemy as sa
from alembic import op

revision: str = "0014"
down_revision: str | None = "0013"
branch_labels: str | Sequence[str] | None = None
depends_on: str | Sequence[str] | None = None

FORMER = ("SILENT", "OVERLOADED", "SLOW", "BEHIND")
ADDED = ("SKEWED", "CLOCK_UNTRUSTED", "CLOCKS_APART")


def upgrade() -> None:
    if op.get_bind().dialect.name == "postgresql":
        for kind in ADDED:
            op.execute(f"ALTER TYPE findingkind ADD VALUE IF NOT EXISTS '{kind}'")
    else:
        _retype_kind(FORMER + ADDED)


def downgrade() -> None:
    op.execute("DELETE FROM finding WHERE kind NOT IN ('SILENT', 'OVERLOADED', 'SLOW', 'BEHIND')")
    if op.get_bind().dialect.name != "postgresql":  # which keeps the names of an enumeration
        _retype_kind(FORMER)


def _retype_kind(kinds: tuple[str, ...]) -> None:
    # The table is made anew, which is harmless here: no other refers to it.
    with op.batch_alter_table("finding") as table:
        table.alter_column("kind", type_=sa.Enum(*kinds, name="findingkind"), existing_nullable=False)
