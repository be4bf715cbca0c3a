"""The ledger of budgets: newest grant and confirmation of each node, what is reserved for it, and doubt."""

from collections.abc import Sequence

import sqlalchemy as sa
from alembic import op

revision: str = "0006"
down_revision: str | None = "0005"
branch_labels: str | Sequence[str] | None = None
depends_on: str | Sequence[str] | None = None


def upgrade() -> None:
    op.create_table(
        "budget_ledger",
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("doubted", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("venue", name=op.f("pk_budget_ledger")),
    )
    op.create_table(
        "budget_node",
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("node", sa.String(40), nullable=False),
        sa.Column("number", sa.BigInteger(), nullable=False),
        sa.Column("confirmed", sa.BigInteger(), nullable=False),
        sa.Column("boot_id", sa.String(32), nullable=True),
        sa.Column("heard", sa.Boolean(), nullable=False),
        sa.Column("known", sa.Boolean(), nullable=False),
        sa.Column("released", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("venue", "node", name=op.f("pk_budget_node")),
    )
    op.create_table(
        "budget_share",
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("supply", sa.String(40), nullable=False),
        sa.Column("node", sa.String(40), nullable=False),
        sa.Column("granted_ma", sa.Integer(), nullable=False),
        sa.Column("reserved_ma", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("venue", "supply", "node", name=op.f("pk_budget_share")),
    )


def downgrade() -> None:
    op.drop_table("budget_share")
    op.drop_table("budget_node")
    op.drop_table("budget_ledger")
