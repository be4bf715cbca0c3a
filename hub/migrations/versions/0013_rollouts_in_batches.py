"""Rollouts in batches: plan, choices, progress, who asked and who approved, what a revision takes back.

Rows that are there already were takes of the whole venue; what they lack is left empty.
"""

from collections.abc import Sequence

import sqlalchemy as sa
from alembic import op

revision: str = "0013"
down_revision: str | None = "0012"
branch_labels: str | Sequence[str] | None = None
depends_on: str | Sequence[str] | None = None

STATES = ("PLANNED", "STAGING", "STAGED", "SOAKING", "TAKEN", "HALTED", "REVERTED")


def _added() -> tuple[sa.Column[object], ...]:
    return (
        sa.Column("plan", sa.Text(), nullable=True),
        sa.Column("choices", sa.Text(), nullable=True),
        sa.Column("batches", sa.Text(), nullable=False, server_default="[]"),
        sa.Column("takes_ms", sa.Text(), nullable=False, server_default="[]"),
        sa.Column("conduct", sa.String(length=16), nullable=False, server_default="STRICT"),
        sa.Column("paused", sa.Boolean(), nullable=False, server_default=sa.false()),
        sa.Column("awaits_approval", sa.Boolean(), nullable=False, server_default=sa.false()),
        sa.Column("requested_by", sa.String(length=80), nullable=True),
        sa.Column("approved_by", sa.String(length=80), nullable=True),
        sa.Column("planned_as", sa.BigInteger(), nullable=True),
        sa.Column("reverts", sa.BigInteger(), nullable=True),
        sa.Column("back_to", sa.BigInteger(), nullable=True),
    )


def upgrade() -> None:
    if op.get_bind().dialect.name == "postgresql":
        for state in STATES:
            op.execute(f"ALTER TYPE rolloutstate ADD VALUE IF NOT EXISTS '{state}'")
    else:
        _retype_state(STATES)
    for column in _added():
        op.add_column("rollout", column)


def downgrade() -> None:
    op.execute("DELETE FROM rollout WHERE state NOT IN ('STAGING', 'TAKEN', 'HALTED')")
    for column in reversed(_added()):
        op.drop_column("rollout", column.name)
    if op.get_bind().dialect.name != "postgresql":  # which keeps the names of an enumeration
        _retype_state(("STAGING", "TAKEN", "HALTED"))


def _retype_state(states: tuple[str, ...]) -> None:
    # The table is made anew, which is harmless here: no other refers to it.
    with op.batch_alter_table("rollout") as table:
        table.alter_column("state", type_=sa.Enum(*states, name="rolloutstate"), existing_nullable=False)
