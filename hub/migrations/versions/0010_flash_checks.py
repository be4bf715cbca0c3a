"""Flash checks, kept over a restart."""

from collections.abc import Sequence

import sqlalchemy as sa
from alembic import op

revision: str = "0010"
down_revision: str | None = "0009"
branch_labels: str | Sequence[str] | None = None
depends_on: str | Sequence[str] | None = None


def upgrade() -> None:
    op.create_table(
        "flash_check",
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("made_at_ms", sa.BigInteger(), nullable=False),
        sa.Column("report", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name=op.f("pk_flash_check")),
    )


def downgrade() -> None:
    op.drop_table("flash_check")
